//! A BIF text as words and marks, each with its place.

use super::{BifError, BifFault};

/// One word or mark.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Token {
    pub(super) kind: Kind,
    pub(super) line: usize,
    pub(super) column: usize,
}

/// What a token is.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Kind {
    /// A name, a number or a keyword; quoted names without their quotes.
    Word(String),
    /// One of `{ } ( ) [ ] ; , |`.
    Mark(char),
    /// Nothing more.
    End,
}

impl Token {
    /// An error at this place.
    pub(super) fn wrong(&self, what: impl Into<BifFault>) -> BifError {
        BifError { line: self.line, column: self.column, what: what.into() }
    }

    /// The token as an error shows it.
    pub(super) fn shown(&self) -> String {
        match &self.kind {
            Kind::Word(word) => format!("`{word}`"),
            Kind::Mark(mark) => format!("`{mark}`"),
            Kind::End => "the end of the text".to_owned(),
        }
    }
}

const MARKS: &str = "{}()[];,|";

/// Reads tokens one by one.
pub(super) struct Lexer<'text> {
    left: std::iter::Peekable<std::str::Chars<'text>>,
    line: usize,
    column: usize,
}

impl<'text> Lexer<'text> {
    pub(super) fn new(text: &'text str) -> Self {
        // A byte order mark is no part of the text.
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        Self { left: text.chars().peekable(), line: 1, column: 1 }
    }

    fn step(&mut self) -> Option<char> {
        let step = self.left.next()?;
        if step == '\n' {
            (self.line, self.column) = (self.line + 1, 1);
        } else {
            self.column += 1;
        }
        Some(step)
    }

    fn token(&self, kind: Kind) -> Token {
        Token { kind, line: self.line, column: self.column }
    }

    /// The next token; at the end, [`Kind::End`] for ever.
    pub(super) fn next(&mut self) -> Result<Token, BifError> {
        self.pass_over_blanks()?;
        let mut token = self.token(Kind::End);
        let Some(first) = self.step() else { return Ok(token) };
        token.kind = match first {
            '"' => Kind::Word(self.quoted(&token)?),
            mark if MARKS.contains(mark) => Kind::Mark(mark),
            letter => Kind::Word(self.word(letter)),
        };
        Ok(token)
    }

    fn word(&mut self, first: char) -> String {
        let mut word = String::from(first);
        while let Some(&letter) = self.left.peek() {
            if letter.is_whitespace() || letter == '"' || MARKS.contains(letter) {
                break;
            }
            word.push(letter);
            self.step();
        }
        word
    }

    fn quoted(&mut self, opened: &Token) -> Result<String, BifError> {
        let mut word = String::new();
        loop {
            match self.step() {
                Some('"') => return Ok(word),
                Some(letter) => word.push(letter),
                None => return Err(opened.wrong(BifFault::Open { what: "quoted name" })),
            }
        }
    }

    fn pass_over_blanks(&mut self) -> Result<(), BifError> {
        loop {
            match self.left.peek() {
                Some(blank) if blank.is_whitespace() => {
                    self.step();
                }
                Some('/') => {
                    let mut ahead = self.left.clone();
                    ahead.next();
                    match ahead.peek() {
                        Some('/') => self.pass_over_line(),
                        Some('*') => self.pass_over_comment()?,
                        _ => return Ok(()),
                    }
                }
                _ => return Ok(()),
            }
        }
    }

    fn pass_over_line(&mut self) {
        while self.left.peek().is_some_and(|&letter| letter != '\n') {
            self.step();
        }
    }

    fn pass_over_comment(&mut self) -> Result<(), BifError> {
        let opened = self.token(Kind::End);
        self.step();
        self.step();
        let mut before = ' ';
        loop {
            match self.step() {
                Some('/') if before == '*' => return Ok(()),
                Some(letter) => before = letter,
                None => return Err(opened.wrong(BifFault::Open { what: "comment" })),
            }
        }
    }

    /// Passes over the rest of a `property` line, whatever it says, with the `;` that ends it.
    pub(super) fn pass_over_property(&mut self) -> Result<(), BifError> {
        let opened = self.token(Kind::End);
        loop {
            match self.step() {
                Some(';') => return Ok(()),
                Some('"') => {
                    self.quoted(&opened)?;
                }
                Some(_) => {}
                None => return Err(opened.wrong(BifFault::Open { what: "property" })),
            }
        }
    }
}
