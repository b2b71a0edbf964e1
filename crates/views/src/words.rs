//! Words with meaning: a line of text whose parts know where they lead and what state they tell.

use crate::address::Place;

/// How something stands. Each mark has a sign and a word of its own, so that none is told by colour alone.
///
/// No mark says "good": that nothing is known against a thing is all that a logbook can know.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Mark {
    /// No care by hours or days is asked for.
    NoCare,
    /// Care is up to date.
    UpToDate,
    /// Put off for a reason, within its limit.
    PutOff,
    /// There is no record.
    NoRecord,
    /// Comes due before long.
    Soon,
    /// Works, but wants looking at.
    Attention,
    /// Due now.
    Due,
    /// Past its limit.
    Overdue,
    /// An open fault.
    Fault,
    /// Not to be used.
    NotForUse,
}

impl Mark {
    /// Every mark, from the calmest to the gravest.
    pub const ALL: [Self; 10] = [
        Self::NoCare,
        Self::UpToDate,
        Self::PutOff,
        Self::NoRecord,
        Self::Soon,
        Self::Attention,
        Self::Due,
        Self::Overdue,
        Self::Fault,
        Self::NotForUse,
    ];

    /// Returns the word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::NoCare => "no regular care",
            Self::UpToDate => "up to date",
            Self::PutOff => "put off",
            Self::NoRecord => "no record",
            Self::Soon => "soon",
            Self::Attention => "attention",
            Self::Due => "due",
            Self::Overdue => "overdue",
            Self::Fault => "fault",
            Self::NotForUse => "not for use",
        }
    }

    /// Returns the sign for it: one character that a terminal can show too.
    pub const fn sign(self) -> &'static str {
        match self {
            Self::NoCare => "–",
            Self::UpToDate => "·",
            Self::PutOff => "‖",
            Self::NoRecord => "?",
            Self::Soon => "△",
            Self::Attention => "!",
            Self::Due => "▲",
            Self::Overdue => "◆",
            Self::Fault => "✕",
            Self::NotForUse => "⊘",
        }
    }

    /// Returns its name in style sheets and data attributes.
    pub const fn name(self) -> &'static str {
        match self {
            Self::NoCare => "no-care",
            Self::UpToDate => "up-to-date",
            Self::PutOff => "put-off",
            Self::NoRecord => "no-record",
            Self::Soon => "soon",
            Self::Attention => "attention",
            Self::Due => "due",
            Self::Overdue => "overdue",
            Self::Fault => "fault",
            Self::NotForUse => "not-for-use",
        }
    }

    /// Returns whether there is nothing to say about it.
    pub const fn is_calm(self) -> bool {
        matches!(self, Self::NoCare | Self::UpToDate)
    }

    /// Returns how much it matters; the greater, the graver.
    pub fn weight(self) -> usize {
        Self::ALL.iter().position(|mark| *mark == self).expect("every mark is in the list of all")
    }

    /// Returns the graver of two.
    #[must_use]
    pub fn graver(self, other: Self) -> Self {
        if other.weight() > self.weight() { other } else { self }
    }
}

impl From<booth::DueState> for Mark {
    fn from(state: booth::DueState) -> Self {
        use booth::DueState as Due;
        match state {
            Due::Overdue => Self::Overdue,
            Due::Due => Self::Due,
            Due::Soon => Self::Soon,
            Due::NoRecord => Self::NoRecord,
            Due::Deferred => Self::PutOff,
            Due::Ok => Self::UpToDate,
        }
    }
}

impl From<booth::film_path::SlotState> for Mark {
    fn from(state: booth::film_path::SlotState) -> Self {
        use booth::film_path::SlotState as Slot;
        match state {
            Slot::Fault => Self::Fault,
            Slot::Overdue => Self::Overdue,
            Slot::Due => Self::Due,
            Slot::Attention => Self::Attention,
            Slot::Soon => Self::Soon,
            Slot::NoRecord => Self::NoRecord,
            Slot::Deferred => Self::PutOff,
            Slot::UpToDate => Self::UpToDate,
            Slot::NoCare => Self::NoCare,
        }
    }
}

/// A piece of a line.
#[derive(Clone, PartialEq, Debug)]
pub enum Span {
    /// As it is.
    Plain(String),
    /// Weighty.
    Strong(String),
    /// Less weighty: an aside, a unit, a source.
    Quiet(String),
    /// Leads somewhere.
    Link(Place, String),
    /// Tells a state.
    Mark(Mark, String),
}

impl Span {
    /// Returns the text without the meaning.
    pub fn text(&self) -> &str {
        match self {
            Self::Plain(text)
            | Self::Strong(text)
            | Self::Quiet(text)
            | Self::Link(_, text)
            | Self::Mark(_, text) => text,
        }
    }
}

/// A line of text.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Words(pub Vec<Span>);

impl Words {
    /// Starts an empty line.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds plain text.
    #[must_use]
    pub fn plain(mut self, text: impl Into<String>) -> Self {
        self.0.push(Span::Plain(text.into()));
        self
    }

    /// Adds weighty text.
    #[must_use]
    pub fn strong(mut self, text: impl Into<String>) -> Self {
        self.0.push(Span::Strong(text.into()));
        self
    }

    /// Adds another line behind this one.
    #[must_use]
    pub fn and(mut self, other: Self) -> Self {
        self.0.extend(other.0);
        self
    }

    /// Adds an aside.
    #[must_use]
    pub fn quiet(mut self, text: impl Into<String>) -> Self {
        self.0.push(Span::Quiet(text.into()));
        self
    }

    /// Adds a link.
    #[must_use]
    pub fn link(mut self, to: Place, text: impl Into<String>) -> Self {
        self.0.push(Span::Link(to, text.into()));
        self
    }

    /// Adds a state, in its own word.
    #[must_use]
    pub fn mark(self, mark: Mark) -> Self {
        self.mark_as(mark, mark.word())
    }

    /// Adds a state, in other words than its own.
    #[must_use]
    pub fn mark_as(mut self, mark: Mark, text: impl Into<String>) -> Self {
        self.0.push(Span::Mark(mark, text.into()));
        self
    }

    /// Returns the line as plain text; a state keeps its sign.
    pub fn text(&self) -> String {
        let mut text = String::new();
        for span in &self.0 {
            if let Span::Mark(mark, _) = span {
                text.push_str(mark.sign());
                text.push(' ');
            }
            text.push_str(span.text());
        }
        text
    }

    /// Returns whether there is nothing to read.
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(|span| span.text().is_empty())
    }
}

impl From<&str> for Words {
    fn from(text: &str) -> Self {
        Self::new().plain(text)
    }
}

impl From<String> for Words {
    fn from(text: String) -> Self {
        Self::new().plain(text)
    }
}
