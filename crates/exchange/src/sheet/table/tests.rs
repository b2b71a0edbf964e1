#![allow(clippy::unwrap_used)]

use super::*;

fn read(text: &str) -> Table {
    Table::read(text.as_bytes()).unwrap_or_else(|error| panic!("{error}"))
}

fn refused(bytes: &[u8]) -> String {
    Table::read(bytes).unwrap_err().to_string()
}

#[test]
fn delimiters_are_found() {
    for delimiter in [',', ';', '\t', '|'] {
        let text = "Date,Film,Hours\n2025-11-03,Sea; sky | shore,1\n2025-11-04,\"A, B\",2\n"
            .replace(',', &delimiter.to_string())
            .replace(&format!("A{delimiter} B"), "A, B");
        let text = if delimiter == ',' { text } else { text.replace("Sea; sky | shore", "Sea") };
        let table = read(&text);
        assert_eq!(table.delimiter, delimiter);
        assert_eq!(table.headings, ["Date", "Film", "Hours"]);
        assert_eq!(table.rows[1].cells, ["2025-11-04", "A, B", "2"]);
    }
    // Decimal commas are more than semicolons here, but the semicolons part every row alike.
    assert_eq!(read("Datum;Std\n1.1.25;1,5\n2.1.25;2,5\n3.1.25;3\n").delimiter, ';');
    assert_eq!(read("sep=|\nDate|Hours\n2025-11-03|1,5\n").delimiter, '|');
}

#[test]
fn encodings_are_found() {
    let text = "Datum;Vorführer\r\n3.11.2025;Jörg\r\n";
    let utf_16 = |bytes: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(bytes).collect::<Vec<u8>>();
    let windows: Vec<u8> = text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
    for (bytes, encoding) in [
        (text.as_bytes().to_vec(), Encoding::Utf8),
        ([b"\xef\xbb\xbf", text.as_bytes()].concat(), Encoding::Utf8),
        ([b"\xff\xfe".to_vec(), utf_16(u16::to_le_bytes)].concat(), Encoding::Utf16Le),
        ([b"\xfe\xff".to_vec(), utf_16(u16::to_be_bytes)].concat(), Encoding::Utf16Be),
        (utf_16(u16::to_le_bytes), Encoding::Utf16Le),
        (utf_16(u16::to_be_bytes), Encoding::Utf16Be),
        (windows, Encoding::Windows1252),
    ] {
        let table = Table::read(&bytes).unwrap();
        assert_eq!(table.encoding, encoding);
        assert_eq!(table.headings, ["Datum", "Vorführer"]);
        assert_eq!(table.rows[0].cells, ["3.11.2025", "Jörg"]);
    }
}

/// RFC 4180 section 2, rules 5 to 7: quoted cells with delimiters, line breaks and doubled marks.
#[test]
fn quoted_cells_agree_with_rfc_4180() {
    let table =
        read("Date,Note,Film\r\n2025-11-03,\"two\r\nlines, and a \"\"mark\"\"\",A\r\n\r\n2025-11-04,x,B\r\n");
    assert_eq!(table.rows[0].cells[1], "two\nlines, and a \"mark\"");
    assert_eq!((table.rows[0].number, table.rows[1].number), (2, 4), "as a spreadsheet program counts them");
    assert_eq!(table.empty_rows, [3]);
}

#[test]
fn headings_may_stand_below_a_title_and_need_not_differ() {
    let table = read("Showings 2025;;\n;;\nDate;Hours;Hours;\n2025-11-03;1;2;x\n");
    assert_eq!(table.heading_row, 3);
    assert_eq!(table.headings, ["Date", "Hours", "Hours (2)", "column 4"]);
    assert_eq!(table.rows[0].number, 4);
}

#[test]
fn ragged_rows_are_evened_out_and_nothing_is_lost() {
    let table = read("Date,Hours\n2025-11-03\n2025-11-04,1,late,,x\n,,\n2025-11-05,2\n,\n");
    assert_eq!(table.rows[0].cells, ["2025-11-03", ""]);
    assert_eq!(table.rows[1].beyond, ["late", "x"]);
    assert_eq!(table.empty_rows, [4], "empty rows at the end are no rows");
}

#[test]
fn files_that_are_no_tables_are_refused_with_their_place() {
    for (bytes, told) in [
        (b"".as_slice(), "the file is empty"),
        (b"\xef\xbb\xbf \n\n", "the file is empty"),
        (b"Date,Hours\n", "below the headings in row 1 there are no rows"),
        (b"PK\x03\x04rest", "own file or a zip archive"),
        (b"%PDF-1.7", "this is a PDF"),
        (b"Date,Hours\n2025-11-03,\x001\n", "line 2, column 12: there is a control character (code 0)"),
        (
            b"Date,Note\n2025-11-03,\"never closed\n2025-11-04,x\n",
            "line 2: a quotation mark that opens in this row never closes",
        ),
    ] {
        let error = refused(bytes);
        assert!(error.contains(told), "{error}");
    }
    let noise: Vec<u8> = (0..4000_u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    assert!(refused(&noise).contains("control character"), "{}", refused(&noise));
}

#[test]
fn sizes_are_bounded() {
    assert!(refused(&vec![b'a'; LARGEST_FILE + 1]).contains("64 MB"));
    let long_cell = format!("Date,Note\n2025-11-03,{}\n", "x".repeat(LONGEST_CELL + 1));
    assert!(refused(long_cell.as_bytes()).contains("line 2: cell 2 of this row is longer"));
    let wide = format!("Date,Note\n{}\n", ",".repeat(MOST_COLUMNS));
    assert!(refused(wide.as_bytes()).contains("line 2: this row has 501 cells"));
    let rows = format!("Date\n{}x\n", "\n".repeat(MOST_ROWS));
    assert!(refused(rows.as_bytes()).contains("rows"));
}
