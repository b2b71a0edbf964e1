//! From words and marks to a network.

use super::{
    BifError, BifFault,
    lexer::{Kind, Lexer, Token},
};
use crate::network::{Network, NetworkBuilder, NetworkError, VariableId};

/// A table of more numbers than this is refused rather than held.
const MOST_NUMBERS: usize = 50_000_000;

/// Reads a network from a BIF text; fails at the first thing that is wrong, with its line and column.
pub fn read(text: &str) -> Result<Network, BifError> {
    let mut reader = Reader::new(text)?;
    let mut chances = Vec::new();
    // Variables may stand behind the chances that name them, so all of those wait until the end.
    while reader.now.kind != Kind::End {
        let at = reader.now.clone();
        match reader.word("`network`, `variable` or `probability`")?.as_str() {
            "network" => reader.network()?,
            "variable" => reader.variable()?,
            "probability" => chances.push(reader.probability()?),
            _ => return Err(expected(&at, "`network`, `variable` or `probability`")),
        }
    }
    let end = reader.now.clone();
    for block in chances {
        block.enter(&mut reader.network)?;
    }
    reader.network.build().map_err(|error| end.wrong(error))
}

fn expected(at: &Token, expected: &'static str) -> BifError {
    at.wrong(BifFault::Expected { expected, found: at.shown() })
}

struct Reader<'text> {
    lexer: Lexer<'text>,
    now: Token,
    network: NetworkBuilder,
}

/// A word with its place.
struct Name {
    text: String,
    at: Token,
}

/// One row of a table: the states of the parents it is for, and its numbers.
struct Row {
    states: Vec<Name>,
    numbers: Vec<f64>,
    at: Token,
}

/// A `probability` block, as it stands.
struct Chances {
    child: Name,
    parents: Vec<Name>,
    whole: Option<Row>,
    default: Option<Row>,
    rows: Vec<Row>,
}

impl<'text> Reader<'text> {
    fn new(text: &'text str) -> Result<Self, BifError> {
        let mut lexer = Lexer::new(text);
        let now = lexer.next()?;
        Ok(Self { lexer, now, network: NetworkBuilder::new() })
    }

    fn advance(&mut self) -> Result<Token, BifError> {
        let next = self.lexer.next()?;
        Ok(std::mem::replace(&mut self.now, next))
    }

    fn is(&self, mark: char) -> bool {
        self.now.kind == Kind::Mark(mark)
    }

    fn is_word(&self, word: &str) -> bool {
        matches!(&self.now.kind, Kind::Word(now) if now == word)
    }

    fn take(&mut self, mark: char, name: &'static str) -> Result<(), BifError> {
        if !self.is(mark) {
            return Err(expected(&self.now, name));
        }
        self.advance().map(|_| ())
    }

    fn word(&mut self, name: &'static str) -> Result<String, BifError> {
        let Kind::Word(word) = self.now.kind.clone() else { return Err(expected(&self.now, name)) };
        self.advance()?;
        Ok(word)
    }

    fn name(&mut self, name: &'static str) -> Result<Name, BifError> {
        let at = self.now.clone();
        Ok(Name { text: self.word(name)?, at })
    }

    fn property(&mut self) -> Result<(), BifError> {
        self.lexer.pass_over_property()?;
        self.now = self.lexer.next()?;
        Ok(())
    }

    fn network(&mut self) -> Result<(), BifError> {
        while matches!(self.now.kind, Kind::Word(_)) {
            self.advance()?;
        }
        self.take('{', "`{`")?;
        while !self.is('}') {
            if !self.is_word("property") {
                return Err(expected(&self.now, "`property` or `}`"));
            }
            self.property()?;
        }
        self.take('}', "`}`")
    }

    fn variable(&mut self) -> Result<(), BifError> {
        let name = self.name("the name of a variable")?;
        self.take('{', "`{`")?;
        let mut states = None;
        while !self.is('}') {
            if self.is_word("property") {
                self.property()?;
            } else if self.is_word("type") && states.is_none() {
                self.advance()?;
                states = Some(self.states(&name.text)?);
            } else {
                return Err(expected(&self.now, "`type`, `property` or `}`"));
            }
        }
        let Some(states) = states else { return Err(expected(&self.now, "`type discrete […] {…};`")) };
        self.take('}', "`}`")?;
        let added = self.network.variable(name.text, states);
        added.map(|_| ()).map_err(|error| name.at.wrong(error))
    }

    fn states(&mut self, variable: &str) -> Result<Vec<String>, BifError> {
        let at = self.now.clone();
        let kind = self.word("`discrete`")?;
        if kind != "discrete" {
            return Err(at.wrong(BifFault::Kind { kind }));
        }
        self.take('[', "`[`")?;
        let count_at = self.now.clone();
        let count = self.word("the number of states")?;
        let said: usize =
            count.parse().map_err(|_| count_at.wrong(BifFault::NotANumber { text: count.clone() }))?;
        self.take(']', "`]`")?;
        self.take('{', "`{`")?;
        let mut states = Vec::new();
        while !self.is('}') {
            states.push(self.word("the name of a state")?);
            if self.is(',') {
                self.advance()?;
            }
        }
        self.advance()?;
        self.take(';', "`;`")?;
        if states.len() != said {
            let variable = variable.to_owned();
            return Err(count_at.wrong(BifFault::StateCount { variable, said, listed: states.len() }));
        }
        Ok(states)
    }

    fn probability(&mut self) -> Result<Chances, BifError> {
        self.take('(', "`(`")?;
        let child = self.name("the name of a variable")?;
        let mut parents = Vec::new();
        while !self.is(')') {
            // Older texts write no bar, only the names.
            if self.is('|') || self.is(',') {
                self.advance()?;
            }
            parents.push(self.name("the name of a parent")?);
        }
        self.advance()?;
        self.take('{', "`{`")?;
        let mut block = Chances { child, parents, whole: None, default: None, rows: Vec::new() };
        while !self.is('}') {
            self.row(&mut block)?;
        }
        self.advance()?;
        Ok(block)
    }

    fn row(&mut self, block: &mut Chances) -> Result<(), BifError> {
        let at = self.now.clone();
        if self.is('(') {
            self.advance()?;
            let mut states = Vec::new();
            while !self.is(')') {
                states.push(self.name("the state of a parent")?);
                if self.is(',') {
                    self.advance()?;
                }
            }
            self.advance()?;
            let numbers = self.numbers()?;
            block.rows.push(Row { states, numbers, at });
            return Ok(());
        }
        if self.is_word("property") {
            return self.property();
        }
        let what = self.word("`table`, `default`, `(` or `}`")?;
        let place = match what.as_str() {
            "table" => &mut block.whole,
            "default" => &mut block.default,
            _ => return Err(expected(&at, "`table`, `default`, `(` or `}`")),
        };
        if place.is_some() {
            return Err(at.wrong(BifFault::TwiceRow { variable: block.child.text.clone() }));
        }
        *place = Some(Row { states: Vec::new(), numbers: self.numbers()?, at });
        Ok(())
    }

    fn numbers(&mut self) -> Result<Vec<f64>, BifError> {
        let mut numbers = Vec::new();
        while !self.is(';') {
            let at = self.now.clone();
            let text = self.word("a number or `;`")?;
            let number = text.parse().ok().filter(|number: &f64| number.is_finite());
            numbers.push(number.ok_or_else(|| at.wrong(BifFault::NotANumber { text }))?);
            if self.is(',') {
                self.advance()?;
            }
        }
        self.advance()?;
        Ok(numbers)
    }
}

impl Chances {
    /// Finds the variables, puts the rows in order, and gives the child its table.
    fn enter(self, network: &mut NetworkBuilder) -> Result<(), BifError> {
        let child = find(network, &self.child)?;
        if network.has_table(child) {
            return Err(self.child.at.wrong(BifFault::TwiceGiven { variable: self.child.text }));
        }
        let parents = self.parents.iter().map(|name| find(network, name)).collect::<Result<Vec<_>, _>>()?;
        let states = network.get(child).states().len();
        let sizes: Vec<usize> = parents.iter().map(|&parent| network.get(parent).states().len()).collect();
        let rows = sizes.iter().try_fold(1usize, |product, &size| product.checked_mul(size));
        let rows = rows.filter(|rows| rows.saturating_mul(states) <= MOST_NUMBERS);
        let Some(rows) = rows else {
            let too_large = BifFault::TooLarge { variable: self.child.text, most: MOST_NUMBERS };
            return Err(self.child.at.wrong(too_large));
        };
        let table = match &self.whole {
            Some(whole) => self.in_whole(whole, rows, states)?,
            None => self.in_rows(network, &parents, &sizes, rows, states)?,
        };
        network.table(child, &parents, table).map_err(|error| self.child.at.wrong(error))
    }

    /// In a whole table the first variable, the child, changes slowest; here it changes fastest.
    fn in_whole(&self, whole: &Row, rows: usize, states: usize) -> Result<Vec<f64>, BifError> {
        self.length("numbers", rows * states, whole.numbers.len(), &whole.at)?;
        Ok((0..rows * states).map(|at| whole.numbers[at % states * rows + at / states]).collect())
    }

    fn in_rows(
        &self,
        network: &NetworkBuilder,
        parents: &[VariableId],
        sizes: &[usize],
        rows: usize,
        states: usize,
    ) -> Result<Vec<f64>, BifError> {
        let mut table: Vec<Option<&[f64]>> = vec![None; rows];
        for row in &self.rows {
            self.length("states of parents", parents.len(), row.states.len(), &row.at)?;
            self.length("numbers", states, row.numbers.len(), &row.at)?;
            let mut place = 0;
            for ((name, &parent), &size) in row.states.iter().zip(parents).zip(sizes) {
                let variable = network.get(parent);
                let state = variable.state(&name.text).ok_or_else(|| {
                    name.at.wrong(NetworkError::NoSuchState {
                        variable: variable.name().to_owned(),
                        state: name.text.clone(),
                        has: variable.states().join(", "),
                    })
                })?;
                place = place * size + state;
            }
            if table[place].replace(&row.numbers).is_some() {
                return Err(row.at.wrong(BifFault::TwiceRow { variable: self.child.text.clone() }));
            }
        }
        if let Some(default) = &self.default {
            self.length("numbers", states, default.numbers.len(), &default.at)?;
            for row in &mut table {
                *row = row.or(Some(&default.numbers));
            }
        }
        let missing = table.iter().filter(|row| row.is_none()).count();
        if missing > 0 {
            let variable = self.child.text.clone();
            return Err(self.child.at.wrong(BifFault::RowsMissing { variable, missing, rows }));
        }
        Ok(table.into_iter().flatten().flatten().copied().collect())
    }

    fn length(&self, of: &'static str, needed: usize, found: usize, at: &Token) -> Result<(), BifError> {
        if needed == found {
            return Ok(());
        }
        let variable = self.child.text.clone();
        Err(at.wrong(BifFault::RowLength { variable, of, needed, found }))
    }
}

fn find(network: &NetworkBuilder, name: &Name) -> Result<VariableId, BifError> {
    network
        .find(&name.text)
        .ok_or_else(|| name.at.wrong(NetworkError::NoSuchVariable { name: name.text.clone() }))
}
