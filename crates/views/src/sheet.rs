//! The sheet: one answer laid out, to be shown as page, text or paper.

use crate::words::{Mark, Words};
use maud::Markup;

/// A laid-out answer.
#[derive(Clone, Debug, Default)]
pub struct Sheet {
    /// What it is about, in a few words.
    pub title: String,
    /// What it says, from the most to the least important.
    pub blocks: Vec<Block>,
}

/// One piece of a sheet.
#[derive(Clone, Debug)]
pub enum Block {
    /// A heading inside the sheet, with a name to jump to.
    Heading {
        /// Its words.
        words: String,
        /// The name by which a page can jump to it.
        id: String,
    },
    /// A paragraph.
    Say(Words),
    /// The sentence that matters most on this sheet.
    Lead(Words),
    /// A list.
    List(Vec<Words>),
    /// Names and what belongs to them.
    Facts(Vec<(String, Words)>),
    /// A table.
    Table(Table),
    /// Something less pressing behind a line that sums it up; folded away on a page.
    Folded(String, Box<Block>),
    /// Things that stand beside each other.
    Cards(Vec<Card>),
    /// A drawing or a plot.
    Picture(Box<Picture>),
    /// What can hurt here.
    Cautions(Vec<String>),
    /// What to bear in mind when reading this.
    Caveats(Vec<String>),
    /// What this rests on; folded away on a page.
    Because(Vec<Words>),
}

/// A table with named columns.
#[derive(Clone, Debug, Default)]
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows, each with as many cells as there are columns.
    pub rows: Vec<Row>,
    /// What to say if there is no row.
    pub empty: String,
    /// On a narrow screen its rows run on as lines of text: for long tables.
    pub tight: bool,
}

/// One column.
#[derive(Clone, Debug)]
pub struct Column {
    /// Its head.
    pub head: String,
    /// Numbers stand at its right edge.
    pub numbers: bool,
}

/// One row.
#[derive(Clone, Debug, Default)]
pub struct Row {
    /// The cells.
    pub cells: Vec<Words>,
    /// Names and values that tests and scripts find it by (`data-…`).
    pub data: Vec<(&'static str, String)>,
}

impl Table {
    /// Starts a table; a head that begins with `#` is a column of numbers.
    pub fn new(caption: impl Into<String>, heads: &[&str], empty: impl Into<String>) -> Self {
        let columns = heads
            .iter()
            .map(|head| Column {
                head: head.trim_start_matches('#').to_owned(),
                numbers: head.starts_with('#'),
            })
            .collect();
        Self { caption: caption.into(), columns, rows: Vec::new(), empty: empty.into(), tight: false }
    }

    /// Lets its rows run on as lines of text on a narrow screen.
    #[must_use]
    pub fn tight(mut self) -> Self {
        self.tight = true;
        self
    }

    /// Adds a row.
    pub fn push(&mut self, cells: Vec<Words>, data: Vec<(&'static str, String)>) {
        self.rows.push(Row { cells, data });
    }
}

/// A thing with a name, a state, some lines and ways on.
#[derive(Clone, Debug, Default)]
pub struct Card {
    /// Its name.
    pub title: Words,
    /// How it stands.
    pub mark: Option<Mark>,
    /// What is said of it.
    pub lines: Vec<Words>,
    /// Where to go from here; the first is the main way.
    pub ways: Vec<Words>,
    /// Names and values that tests and scripts find it by (`data-…`).
    pub data: Vec<(&'static str, String)>,
}

/// A drawing with its twin in words.
#[derive(Clone, Debug)]
pub struct Picture {
    /// What it shows, for those who cannot see it.
    pub title: String,
    /// The drawing: a complete `svg` element.
    pub svg: Markup,
    /// The same as rows of text.
    pub twin: Table,
    /// The class of its frame on a page (`wide` drawings scroll sideways on a phone).
    pub wide: bool,
}

impl Sheet {
    /// Starts a sheet.
    pub fn new(title: impl Into<String>) -> Self {
        Self { title: title.into(), blocks: Vec::new() }
    }

    /// Adds a heading; its name is made of its words.
    pub fn heading(&mut self, words: impl Into<String>) {
        let words = words.into();
        let id = words
            .to_lowercase()
            .split(|c: char| !c.is_ascii_alphanumeric())
            .filter(|word| !word.is_empty())
            .collect::<Vec<_>>()
            .join("-");
        self.blocks.push(Block::Heading { words, id });
    }

    /// Adds a paragraph.
    pub fn say(&mut self, words: impl Into<Words>) {
        self.blocks.push(Block::Say(words.into()));
    }

    /// Adds the sentence that matters most.
    pub fn lead(&mut self, words: impl Into<Words>) {
        self.blocks.push(Block::Lead(words.into()));
    }

    /// Adds a block.
    pub fn push(&mut self, block: Block) {
        self.blocks.push(block);
    }

    /// Adds what to bear in mind, if there is anything.
    pub fn caveats(&mut self, caveats: impl IntoIterator<Item = String>) {
        let caveats: Vec<String> = caveats.into_iter().collect();
        if !caveats.is_empty() {
            self.blocks.push(Block::Caveats(caveats));
        }
    }

    /// Adds what the sheet rests on, if anything is named.
    pub fn because(&mut self, grounds: impl IntoIterator<Item = Words>) {
        let grounds: Vec<Words> = grounds.into_iter().collect();
        if !grounds.is_empty() {
            self.blocks.push(Block::Because(grounds));
        }
    }
}
