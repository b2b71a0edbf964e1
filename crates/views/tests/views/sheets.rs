//! A sheet says the same as text and as a page.

use jiff::civil::date;
use logbook::MachineId;
use units::Hours;
use views::{Block, Card, Mark, Place, Sheet, Table, Words, html, text, wording};

fn table() -> Table {
    let mut table = Table::new("Lamps", &["Lamp", "#Hours", "Note"], "None.");
    table.push(
        vec!["exciter".into(), "96".into(), "no spare in the case".into()],
        vec![("slot", "exciter-lamp".into())],
    );
    table.push(vec!["main".into(), "7".into(), Words::new().mark(Mark::Overdue)], vec![]);
    table
}

#[test]
fn a_table_as_text_keeps_its_columns_and_wraps_only_the_last() {
    let shown = text::table(&table(), 40);
    let expected = "\
Lamp     Hours  Note
-------  -----  --------------------
exciter     96  no spare in the case
main         7  ◆ overdue
";
    assert_eq!(shown, expected);
    let narrow = text::table(&table(), 32);
    assert!(narrow.contains("exciter     96  no spare in the\n                case\n"), "{narrow}");
}

#[test]
fn a_table_too_wide_for_the_terminal_becomes_a_block_for_each_row() {
    let shown = text::table(&table(), 28);
    let expected = "\
exciter
  Hours  96
  Note   no spare in the
         case

main
  Hours  7
  Note   ◆ overdue
";
    assert_eq!(shown, expected);
}

#[test]
fn an_empty_table_says_so_everywhere() {
    let empty = Table::new("Lamps", &["Lamp"], "Nothing is fitted.");
    assert_eq!(text::table(&empty, 80), "Nothing is fitted.\n");
    assert_eq!(html::table(&empty).into_string(), "<p class=\"empty\">Nothing is fitted.</p>");
}

/// A title with marks that turn the direction stands by itself; one that only hides a character needs no such care.
#[test]
fn a_text_that_may_turn_its_neighbours_round_is_kept_to_itself() {
    for turning in ["The \u{202e}neveR", "\u{2067}Reel 1", "Reel\u{61c} 1", "\u{5e9}\u{5dc}"] {
        let shown = html::words(&Words::from(turning)).into_string();
        assert_eq!(shown, format!("<bdi>{turning}</bdi>"));
    }
    for plain in ["The Raven", "The Ra\u{ad}ven"] {
        assert_eq!(html::words(&Words::from(plain)).into_string(), plain);
    }
}

#[test]
fn the_same_words_stand_on_the_page_and_in_the_terminal() {
    let mut sheet = Sheet::new("Turnstone");
    sheet.lead("Fit for any showing.");
    sheet.heading("Care & oil");
    sheet.push(Block::Facts(vec![("Hours run".into(), Words::new().strong("3234 h"))]));
    sheet.push(Block::Cautions(vec!["Let the lamp cool.".into()]));
    sheet.caveats(["12 of the hours are estimates.".to_owned()]);
    sheet.push(Block::Cards(vec![Card {
        title: "Gate".into(),
        mark: Some(Mark::Fault),
        lines: vec![Words::new().link(Place::Machine(MachineId::new("turnstone")), "Turnstone")],
        ..Card::default()
    }]));
    let page = html::sheet(&sheet).into_string();
    let plain = text::sheet(&sheet, 60);
    for words in [
        "Turnstone",
        "Fit for any showing.",
        "Hours run",
        "3234 h",
        "Let the lamp cool.",
        "12 of the hours",
        "Gate",
        "fault",
    ] {
        assert!(page.contains(words), "page: {words}");
        assert!(plain.contains(words), "text: {words}");
    }
    assert!(page.contains("<h2 id=\"care-oil\">Care &amp; oil</h2>"), "{page}");
    assert!(page.contains("href=\"/machines/turnstone\""));
}

#[test]
fn what_people_write_is_text_on_a_page_and_in_data_attributes() {
    let nasty = "\"><script>x</script>&";
    let mut shown = Table::new("t", &["a"], "");
    shown.push(vec![nasty.into()], vec![("entry", nasty.into())]);
    let page = html::table(&shown).into_string();
    assert!(!page.contains("<script>"), "{page}");
    assert!(page.contains("data-entry=\"&quot;&gt;&lt;script&gt;"), "{page}");
    assert_eq!(Place::Machine(MachineId::new("a/b ?#")).href(), "/machines/a%2Fb%20%3F%23");
}

#[test]
fn every_mark_has_a_sign_and_a_word_of_its_own() {
    for (at, mark) in Mark::ALL.iter().enumerate() {
        assert_eq!(mark.weight(), at);
        for other in &Mark::ALL[at + 1..] {
            assert_ne!(mark.sign(), other.sign());
            assert_ne!(mark.word(), other.word());
            assert_ne!(mark.name(), other.name());
            assert_eq!(mark.graver(*other), *other);
        }
    }
}

#[test]
fn hours_minutes_and_days_are_said_as_people_say_them() {
    for (hours, words) in [
        (0.0, "0 h"),
        (0.25, "0.2 h"),
        (12.0, "12 h"),
        (99.94, "99.9 h"),
        (99.96, "100 h"),
        (3234.4, "3234 h"),
        (-0.01, "0 h"),
    ] {
        assert_eq!(wording::hours(Hours::new(hours)), words);
    }
    assert_eq!(wording::meter(Hours::new(812.5)), "812.5 h");
    for (minutes, words) in [
        (0.0, "0 min"),
        (59.4, "59 min"),
        (60.0, "1 h"),
        (81.0, "1 h 21 min"),
        (125.0, "2 h 05 min"),
        (-3.0, "0 min"),
    ] {
        assert_eq!(wording::minutes(minutes), words);
    }
    for (days, words) in [
        (1, "1 day"),
        (20, "20 days"),
        (21, "3 weeks"),
        (119, "17 weeks"),
        (120, "4 months"),
        (729, "24 months"),
        (730, "2 years"),
    ] {
        assert_eq!(wording::days(days), words);
    }
}

#[test]
fn dates_carry_their_distance_and_the_year_when_it_is_far() {
    let today = date(2026, 11, 25);
    for (then, words) in [
        (date(2026, 11, 25), "today"),
        (date(2026, 11, 26), "tomorrow"),
        (date(2026, 11, 24), "yesterday"),
        (date(2026, 12, 1), "Tue 1 Dec, in 6 days"),
        (date(2026, 11, 5), "Thu 5 Nov, 20 days ago"),
        (date(2025, 9, 25), "Thu 25 Sep 2025, 14 months ago"),
    ] {
        assert_eq!(wording::date_and_distance(then, today), words);
    }
    assert_eq!(wording::monday_of(date(2026, 11, 25)), date(2026, 11, 23));
    assert_eq!(wording::listed(&["a".into(), "b".into(), "c".into()]), "a, b and c");
}

#[test]
fn a_past_moment_after_midnight_belongs_to_its_evening() {
    let today = jiff::civil::date(2026, 11, 30);
    let at = |text: &str| logbook::When::from_zoned(&text.parse().unwrap());
    let said = |text: &str| wording::moment_and_distance(at(text), today);
    assert_eq!(said("2026-12-01T01:10+00:00[UTC]"), "today", "never tomorrow");
    assert_eq!(said("2026-11-30T00:20+00:00[UTC]"), "yesterday", "the late show of the evening before");
    assert_eq!(said("2026-11-29T21:00+00:00[UTC]"), "yesterday");
    let start = |text: &str, evening| wording::start(&text.parse().unwrap(), evening, today);
    assert_eq!(start("2026-12-01T02:30+00:00[UTC]", today), "tonight, 02:30");
    assert_eq!(start("2026-12-01T19:30+00:00[UTC]", jiff::civil::date(2026, 12, 1)), "tomorrow, 19:30");
}
