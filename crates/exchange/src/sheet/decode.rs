//! Bytes → text: which encoding a file is in, told from its marks and its bytes.

use super::TableError;
use serde::Serialize;
use std::fmt;

/// The encoding that a file turned out to be in.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Encoding {
    /// UTF-8, with or without a byte order mark.
    Utf8,
    /// UTF-16, low byte first.
    Utf16Le,
    /// UTF-16, high byte first.
    Utf16Be,
    /// Windows-1252: the usual one of western European spreadsheet programs. Taken when it is nothing else.
    Windows1252,
}

impl fmt::Display for Encoding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Utf8 => "UTF-8",
            Self::Utf16Le | Self::Utf16Be => "UTF-16",
            Self::Windows1252 => "Windows-1252",
        })
    }
}

/// The first bytes of files that people take for tables, and what to do with them.
const NO_TABLES: [(&[u8], &str); 8] = [
    (b"PK\x03\x04", "a spreadsheet program's own file or a zip archive"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old spreadsheet program's own file"),
    (b"%PDF", "a PDF"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"SQLite format 3\0", "a database"),
    (b"\x7fELF", "a program"),
];

const SAVE_AS_CSV: &str = "open it in a spreadsheet program and save it as CSV";

/// Reads a file's bytes as text; line ends come out as line feeds.
///
/// # Errors
/// If it is no text, with the place of the first byte that shows it.
pub fn decode(bytes: &[u8]) -> Result<(String, Encoding), TableError> {
    if let Some((_, name)) = NO_TABLES.iter().find(|(magic, _)| bytes.starts_with(magic)) {
        return Err(TableError::whole(format!("this is {name}, not CSV"), SAVE_AS_CSV));
    }
    let (text, encoding) = as_text(bytes);
    if let Some(error) = control_characters(&text) {
        return Err(error);
    }
    Ok((text.replace("\r\n", "\n").replace('\r', "\n"), encoding))
}

fn as_text(bytes: &[u8]) -> (String, Encoding) {
    let (codec, encoding) = if let Some((codec, _)) = encoding_rs::Encoding::for_bom(bytes) {
        (codec, name(codec))
    } else if let Some(unmarked) = unmarked_utf16(bytes) {
        unmarked
    } else if std::str::from_utf8(bytes).is_ok() {
        (encoding_rs::UTF_8, Encoding::Utf8)
    } else {
        (encoding_rs::WINDOWS_1252, Encoding::Windows1252)
    };
    (codec.decode_with_bom_removal(bytes).0.into_owned(), encoding)
}

fn name(codec: &'static encoding_rs::Encoding) -> Encoding {
    if codec == encoding_rs::UTF_16LE {
        Encoding::Utf16Le
    } else if codec == encoding_rs::UTF_16BE {
        Encoding::Utf16Be
    } else {
        Encoding::Utf8
    }
}

/// Tells UTF-16 without a mark: in western text every other byte is zero.
fn unmarked_utf16(bytes: &[u8]) -> Option<(&'static encoding_rs::Encoding, Encoding)> {
    let head = bytes.get(..bytes.len().min(2000))?;
    let zeros = |odd: usize| head.iter().skip(odd).step_by(2).filter(|&&byte| byte == 0).count();
    let (even, odd, pairs) = (zeros(0), zeros(1), head.len() / 2);
    if pairs < 4 {
        None
    } else if odd * 10 >= pairs * 8 && even == 0 {
        Some((encoding_rs::UTF_16LE, Encoding::Utf16Le))
    } else if even * 10 >= pairs * 8 && odd == 0 {
        Some((encoding_rs::UTF_16BE, Encoding::Utf16Be))
    } else {
        None
    }
}

/// Finds the first character that no table has.
fn control_characters(text: &str) -> Option<TableError> {
    let strange = |c: char| matches!(c, '\0'..='\x08' | '\x0e'..='\x1f' | '\x7f');
    let place = text.find(strange)?;
    let before = text.get(..place).unwrap_or_default();
    let found = text.get(place..).and_then(|rest| rest.chars().next()).unwrap_or_default();
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
    let code = u32::from(found);
    let what = match text.chars().filter(|&c| strange(c)).count() {
        1 => format!("there is a control character (code {code}) here"),
        count => {
            format!(
                "there is a control character (code {code}) here and {count} in all: this is no text table"
            )
        }
    };
    Some(TableError { line: Some(line), column: Some(column), what, would_be_right: SAVE_AS_CSV.to_owned() })
}
