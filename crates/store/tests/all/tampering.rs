//! Whatever is done to the file behind the program's back, `verify` finds it and says where.

use crate::common::{behind_its_back, device, id, note, reading};
use logbook::Entry;
use rusqlite::{Connection, params};
use std::path::Path;
use store::{EntryStore, Finding, SqliteStore, Trouble, Verification, hex};

/// Two devices, entries of each between those of the other.
fn entries() -> Vec<Entry> {
    (0..12)
        .map(|number| match number % 3 {
            0 => note(number, device(2)),
            1 => reading(number, device(1), "turnstone"),
            _ => note(number, device(1)),
        })
        .collect()
}

struct Victim {
    folder: tempfile::TempDir,
}

impl Victim {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        SqliteStore::open_as(folder.path(), device(1)).unwrap().append(&entries()).unwrap();
        Self { folder }
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn verify(&self) -> Verification {
        SqliteStore::open_existing(self.path()).unwrap().verify().unwrap()
    }

    /// Returns what is wrong with the chains after something was done to the file.
    fn after(deed: impl FnOnce(&Connection)) -> Vec<Finding> {
        let victim = Self::new();
        let connection = behind_its_back(victim.path());
        deed(&connection);
        connection.close().unwrap();
        of_chains(victim.verify())
    }
}

/// Leaves out that the guards were taken down, which is found every time.
fn of_chains(verification: Verification) -> Vec<Finding> {
    let (guards, findings): (Vec<_>, Vec<_>) = verification
        .findings
        .into_iter()
        .partition(|finding| matches!(finding.trouble, Trouble::GuardAltered { .. }));
    assert_eq!(guards.len(), 5, "three triggers and two indexes are gone: {guards:?}");
    findings
}

/// Returns device, numbers and trouble of each finding.
fn told(findings: &[Finding]) -> Vec<(u8, u64, u64, Trouble)> {
    let of = |finding: &Finding| {
        let device = finding.device.map_or(0, |device| device.0.as_bytes()[0]);
        (device, finding.first, finding.last, finding.trouble.clone())
    };
    findings.iter().map(of).collect()
}

/// Device 1's entries by number are at these arrival numbers.
const SEQ_OF_NUMBER: [i64; 9] = [0, 2, 3, 5, 6, 8, 9, 11, 12];

fn seq(number: usize) -> i64 {
    SEQ_OF_NUMBER[number]
}

/// Gives an entry another number in its record.
fn renumber(connection: &Connection, seq: i64, number: u64) {
    let mut record: Vec<u8> =
        connection.query_row("SELECT record FROM entry WHERE seq = ?1", [seq], |row| row.get(0)).unwrap();
    record[32..40].copy_from_slice(&number.to_be_bytes());
    connection.execute("UPDATE entry SET record = ?2 WHERE seq = ?1", params![seq, record]).unwrap();
}

fn delete(connection: &Connection, seq: i64) {
    assert_eq!(connection.execute("DELETE FROM entry WHERE seq = ?1", [seq]).unwrap(), 1);
}

#[test]
fn an_untouched_logbook_is_sound() {
    let verification = Victim::new().verify();
    assert_eq!(verification.findings, []);
    assert_eq!(verification.entries, 12);
    assert_eq!(verification.heads.iter().map(|head| head.number).collect::<Vec<_>>(), [8, 4]);
}

#[test]
fn every_single_altered_byte_of_every_entry_is_found() {
    let victim = Victim::new();
    let connection = behind_its_back(victim.path());
    let mut statement = connection.prepare("SELECT seq, record, hash FROM entry").unwrap();
    let rows: Vec<(i64, Vec<u8>, Vec<u8>)> = statement
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
        .unwrap()
        .collect::<Result<_, _>>()
        .unwrap();
    let store = SqliteStore::open_existing(victim.path()).unwrap();
    let mut n_altered = 0_usize;
    for (seq, record, hash) in &rows {
        for (column, bytes) in [("record", record), ("hash", hash)] {
            for at in 0..bytes.len() {
                let mut altered = bytes.clone();
                // A different bit from place to place.
                altered[at] ^= 1 << ((at + *seq as usize) % 8);
                let put = |bytes: &[u8]| {
                    let sql = format!("UPDATE entry SET {column} = ?2 WHERE seq = ?1");
                    connection.execute(&sql, params![seq, bytes]).unwrap();
                };
                put(&altered);
                let findings = of_chains(store.verify().unwrap());
                put(bytes);
                let named = findings.iter().any(|finding| finding.device.is_some());
                assert!(named, "entry {seq}, {column}, byte {at}: {findings:?}");
                n_altered += 1;
            }
        }
    }
    assert!(n_altered > 1_500, "{n_altered}");
    assert_eq!(of_chains(store.verify().unwrap()), []);
}

#[test]
fn an_altered_entry_is_named() {
    let findings = Victim::after(|connection| {
        let sql = "UPDATE entry SET record = CAST(replace(CAST(record AS TEXT), 'gate', 'lens') AS BLOB) WHERE seq = ?1";
        connection.execute(sql, [seq(4)]).unwrap();
    });
    assert_eq!(told(&findings), [(1, 4, 4, Trouble::Altered)]);
    assert_eq!(findings[0].id, Some(id(5)));
    let text = findings[0].to_string();
    assert!(text.contains(&device(1).to_string()) && text.contains(&id(5).to_string()), "{text}");
    assert!(text.contains("number 4"), "{text}");
}

#[test]
fn an_altered_hash_is_named_once() {
    let findings = Victim::after(|connection| {
        connection.execute("UPDATE entry SET hash = zeroblob(32) WHERE seq = ?1", [seq(4)]).unwrap();
    });
    assert_eq!(told(&findings), [(1, 4, 4, Trouble::Altered)]);
}

#[test]
fn entries_taken_out_are_missing() {
    let findings = Victim::after(|connection| [3, 4, 6].into_iter().for_each(|n| delete(connection, seq(n))));
    assert_eq!(told(&findings), [(1, 3, 4, Trouble::Missing), (1, 6, 6, Trouble::Missing)]);
    assert!(findings[0].to_string().contains("numbers 3 to 4: missing"), "{}", findings[0]);
}

#[test]
fn the_first_and_the_last_entry_taken_out_are_missing() {
    let first = Victim::after(|connection| delete(connection, seq(1)));
    assert_eq!(told(&first), [(1, 1, 1, Trouble::Missing)]);
    let last = Victim::after(|connection| [7, 8].into_iter().for_each(|n| delete(connection, seq(n))));
    assert_eq!(told(&last), [(1, 7, 8, Trouble::Missing)]);
}

#[test]
fn a_whole_device_taken_out_is_missing() {
    let findings = Victim::after(|connection| {
        connection.execute("DELETE FROM entry WHERE substr(record, 17, 1) = x'02'", []).unwrap();
    });
    assert_eq!(told(&findings), [(2, 1, 4, Trouble::Missing)]);
}

#[test]
fn numbers_closed_up_over_a_gap_are_found() {
    let findings = Victim::after(|connection| {
        delete(connection, seq(5));
        (6..=8).for_each(|number| renumber(connection, seq(number), number as u64 - 1));
    });
    let expected =
        [(1, 5, 5, Trouble::Altered), (1, 6, 7, Trouble::Renumbered { was: 7 }), (1, 6, 6, Trouble::Missing)];
    assert_eq!(told(&findings), expected);
}

#[test]
fn exchanged_numbers_are_found() {
    let findings = Victim::after(|connection| {
        renumber(connection, seq(4), 5);
        renumber(connection, seq(5), 4);
    });
    let expected = [(1, 4, 4, Trouble::Renumbered { was: 5 }), (1, 5, 5, Trouble::Renumbered { was: 4 })];
    assert_eq!(told(&findings), expected);
}

#[test]
fn an_entry_moved_far_away_is_told_where_it_was() {
    let findings = Victim::after(|connection| renumber(connection, seq(4), 100));
    assert_eq!(told(&findings), [(1, 100, 100, Trouble::Renumbered { was: 4 })]);
}

#[test]
fn entries_in_another_order_are_found() {
    let findings = Victim::after(|connection| {
        for (from, to) in [(seq(3), 900), (seq(4), seq(3)), (900, seq(4))] {
            connection.execute("UPDATE entry SET seq = ?2 WHERE seq = ?1", [from, to]).unwrap();
        }
    });
    assert_eq!(told(&findings), [(1, 4, 4, Trouble::OutOfOrder)]);
}

#[test]
fn a_copied_entry_is_found() {
    let findings = Victim::after(|connection| {
        let sql = "INSERT INTO entry SELECT 900, record, hash FROM entry WHERE seq = ?1";
        connection.execute(sql, [seq(4)]).unwrap();
    });
    assert!(told(&findings).contains(&(1, 4, 4, Trouble::Duplicated)), "{findings:?}");
}

#[test]
fn a_second_entry_under_a_number_is_found_and_the_right_one_is_not_blamed() {
    let findings = Victim::after(|connection| {
        let sql = "INSERT INTO entry SELECT 1 - seq, CAST(x'AA' || substr(record, 2) AS BLOB), hash FROM entry WHERE seq = ?1";
        connection.execute(sql, [seq(4)]).unwrap();
    });
    let duplicated: Vec<_> =
        findings.iter().filter(|finding| finding.trouble == Trouble::Duplicated).collect();
    assert_eq!(duplicated.len(), 1, "{findings:?}");
    assert_ne!(duplicated[0].id, Some(id(5)));
}

#[test]
fn entries_of_an_unknown_device_are_found() {
    let findings = Victim::after(|connection| {
        connection.execute("DELETE FROM device WHERE device = ?1", [device(2).0.as_bytes()]).unwrap();
    });
    assert_eq!(told(&findings), [(2, 1, 4, Trouble::UnknownDevice)]);
}

#[test]
fn a_rewritten_head_is_found() {
    let findings = Victim::after(|connection| {
        connection
            .execute("UPDATE device SET head_hash = zeroblob(32) WHERE device = ?1", [device(2).0.as_bytes()])
            .unwrap();
    });
    assert_eq!(told(&findings), [(2, 4, 4, Trouble::HeadDiffers)]);
}

/// What the chain alone cannot show: the end cut off and the head rewritten. A head noted elsewhere shows it.
#[test]
fn an_end_cut_off_with_its_head_is_found_by_a_head_noted_elsewhere() {
    let victim = Victim::new();
    let noted = victim.verify().heads;
    let connection = behind_its_back(victim.path());
    delete(&connection, seq(8));
    let sql = "UPDATE device SET head_number = 7, head_hash = (SELECT hash FROM entry WHERE seq = ?1)
               WHERE device = ?2";
    connection.execute(sql, params![seq(7), device(1).0.as_bytes()]).unwrap();
    connection.close().unwrap();
    let store = SqliteStore::open_existing(victim.path()).unwrap();
    assert_eq!(of_chains(store.verify().unwrap()), []);
    let findings = of_chains(store.verify_against(&noted).unwrap());
    assert_eq!(told(&findings), [(1, 8, 8, Trouble::CutOff { known: 8 })]);
    store.append(&[note(77, device(1))]).unwrap();
    let findings = of_chains(store.verify_against(&noted).unwrap());
    assert_eq!(told(&findings), [(1, 8, 8, Trouble::Rewritten)]);
}

#[test]
fn every_guard_is_missed() {
    for guard in [
        "DROP TRIGGER entry_is_never_changed",
        "DROP TRIGGER entry_is_never_removed",
        "DROP TRIGGER entry_is_never_replaced",
        "DROP INDEX entry_by_id",
        "DROP INDEX entry_by_number",
        "DROP VIEW entry_in_words",
        "CREATE TRIGGER entry_is_lost AFTER INSERT ON entry BEGIN SELECT 1; END",
    ] {
        let victim = Victim::new();
        let connection = Connection::open(victim.path().join("logbook.db")).unwrap();
        connection.execute_batch(guard).unwrap();
        connection.close().unwrap();
        let findings = victim.verify().findings;
        let name = guard.split(' ').nth(2).unwrap();
        assert_eq!(findings.len(), 1, "{guard}: {findings:?}");
        assert!(findings[0].to_string().contains(name), "{}", findings[0]);
    }
}

#[test]
fn a_page_of_the_file_overwritten_is_found_and_said() {
    let victim = Victim::new();
    let file = victim.path().join("logbook.db");
    let mut bytes = std::fs::read(&file).unwrap();
    let at = bytes.windows(16).rposition(|window| window.starts_with(b"Brushed the gate")).unwrap();
    let page = at / 8192 * 8192;
    bytes[page..page + 64].fill(0xFF);
    std::fs::write(&file, bytes).unwrap();
    let verification = victim.verify();
    assert!(
        verification.findings.iter().any(|finding| matches!(finding.trouble, Trouble::FileDamaged { .. })),
        "{verification:?}"
    );
}

/// The chain agrees with an independent computation (Python's hashlib over the documented layout), so that another
/// program can check a logbook: `tests/chain.py`.
#[test]
fn hashes_agree_with_an_independent_computation() {
    let heads = Victim::new().verify().heads;
    let reference = include_str!("../chain.txt");
    let lines: Vec<_> =
        heads.iter().map(|head| format!("{} {} {}", head.device, head.number, hex(&head.hash))).collect();
    assert_eq!(lines, reference.lines().collect::<Vec<_>>());
}
