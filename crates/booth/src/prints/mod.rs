//! Prints on the bench: what state each reel is in, on which machine it may be shown, and what has appeared on it since
//! somebody last looked.

mod between;
mod bridge;
mod on_machines;
mod passed;
pub mod told;

pub use between::{Appeared, Change};
pub use bridge::{finding, gauge, inspected, sort};
pub use on_machines::{Gravity, OnMachine, PrintWarning, barred, gravity, warnings};

use film::{
    Gauge,
    print::{Inspected, PrintSort, Verdict},
};
use logbook::{
    Booth, PrintId, ShowingId, When,
    booth::{Handling, Inspection, Print, PrintRun, Showing, ShowingState},
    fact::{PrintDeed, Reel, Wound},
};
use machine::Library;

/// One print in the list of all.
#[derive(Clone, Debug)]
pub struct PrintRow<'a> {
    /// Its id.
    pub id: &'a PrintId,
    /// The print.
    pub print: &'a Print,
    /// The gravest of what is decided about its reels, each on the kindest machine there is.
    pub gravity: Gravity,
    /// The reels that must not be shown on any machine here.
    pub barred: Vec<u32>,
    /// How many of its reels nobody has inspected.
    pub not_inspected: usize,
    /// The next showing that wants it.
    pub next: Option<(&'a ShowingId, &'a Showing)>,
    /// When it last came or went.
    pub journey: Option<&'a Handling>,
}

/// A print with all its reels.
#[derive(Clone, Debug)]
pub struct PrintSheet<'a> {
    /// Its id.
    pub id: &'a PrintId,
    /// The print.
    pub print: &'a Print,
    /// Its gauge; absent: what is written is no gauge that film has.
    pub gauge: Option<Gauge>,
    /// How early to stop.
    pub sort: PrintSort,
    /// Its reels, in order.
    pub reels: Vec<ReelSheet<'a>>,
    /// The coming showings that want it, the next one first.
    pub coming: Vec<(&'a ShowingId, &'a Showing)>,
    /// What to bear in mind.
    pub caveats: Vec<String>,
}

/// One reel of a print.
#[derive(Clone, Debug)]
pub struct ReelSheet<'a> {
    /// Its number in the print.
    pub reel: &'a Reel,
    /// The last inspection.
    pub last: Option<&'a Inspection>,
    /// What is known of it, put together from all inspections; absent: its gauge is not known.
    pub inspected: Option<Inspected>,
    /// What is decided for the kindest machine there is.
    pub at_best: Option<Verdict>,
    /// What is decided for each machine of its gauge that may be used.
    pub on: Vec<OnMachine<'a>>,
    /// Which end lies outside, and since when that is known.
    pub wound: Option<(Wound, When)>,
    /// How often it went through a machine: by the marks of shows, where there are any, else with the whole print.
    pub passes: u32,
    /// The same since the last inspection, or in all if there was none.
    pub passes_since: u32,
    /// What appeared between two inspections, the newest first.
    pub changes: Vec<Change<'a>>,
    /// What to bear in mind.
    pub caveats: Vec<String>,
}

/// All prints: those that must not be shown and are wanted soonest first.
pub fn prints<'a>(booth: &'a Booth, library: &'a Library) -> Vec<PrintRow<'a>> {
    let mut rows: Vec<PrintRow<'a>> = booth.prints.keys().filter_map(|id| row(booth, library, id)).collect();
    rows.sort_by_key(|row| {
        let wanted = row.next.map(|(_, showing)| showing.starts.timestamp());
        (wanted.is_none(), wanted, std::cmp::Reverse(row.gravity), row.print.title.clone())
    });
    rows
}

fn row<'a>(booth: &'a Booth, library: &'a Library, id: &PrintId) -> Option<PrintRow<'a>> {
    let sheet = print_sheet(booth, library, id)?;
    let graveness = |reel: &ReelSheet<'_>| reel.at_best.as_ref().map_or(Gravity::Fine, gravity);
    Some(PrintRow {
        id: sheet.id,
        print: sheet.print,
        gravity: sheet.reels.iter().map(graveness).max().unwrap_or(Gravity::Fine),
        barred: sheet
            .reels
            .iter()
            .filter(|reel| graveness(reel) >= Gravity::MustNot)
            .map(|reel| reel.reel.reel)
            .collect(),
        not_inspected: sheet.reels.iter().filter(|reel| reel.last.is_none()).count(),
        next: sheet.coming.first().copied(),
        journey: journey(sheet.print),
    })
}

/// When a print last came or went.
pub fn journey(print: &Print) -> Option<&Handling> {
    print.handled.iter().rfind(|deed| matches!(deed.deed, PrintDeed::Arrived | PrintDeed::Sent))
}

/// One print with its reels; none when it is not in the booth.
pub fn print_sheet<'a>(booth: &'a Booth, library: &'a Library, id: &PrintId) -> Option<PrintSheet<'a>> {
    let (id, print) = booth.prints.get_key_value(id)?;
    let gauge = gauge(print);
    let (sort, said) = sort(print);
    let mut caveats = Vec::new();
    if gauge.is_none() {
        caveats.push(format!("“{}” is no gauge that is known here, so nothing is decided.", print.gauge));
    }
    if !said {
        let taken = if sort == PrintSort::Lent { "lent, for it has a lender" } else { "the only one" };
        caveats.push(format!("Nobody said whether there is another copy: it is taken as {taken}."));
    }
    if print.reels.is_empty() {
        caveats.push("Nobody said which reels it has.".to_owned());
    }
    let marked = passed::marked(booth, library, id, print);
    let sheet_of = |reel: &'a Reel| {
        let runs = passed::runs_of(print, &marked, reel.reel);
        reel_sheet(booth, library, (id, print), (reel, &runs), gauge)
    };
    let reels = print.reels.iter().map(sheet_of).collect();
    Some(PrintSheet { id, print, gauge, sort, reels, coming: coming(booth, id), caveats })
}

fn coming<'a>(booth: &'a Booth, id: &PrintId) -> Vec<(&'a ShowingId, &'a Showing)> {
    let wants = |showing: &Showing| showing.state == ShowingState::Planned && showing.prints.contains(id);
    booth.coming_showings().into_iter().filter(|(_, showing)| wants(showing)).collect()
}

fn reel_sheet<'a>(
    booth: &'a Booth,
    library: &'a Library,
    (id, print): (&PrintId, &'a Print),
    (reel, runs): (&'a Reel, &[PrintRun]),
    gauge: Option<Gauge>,
) -> ReelSheet<'a> {
    let last = print.inspections_of(reel.reel).next_back();
    let inspected = gauge.map(|gauge| inspected(print, reel, gauge));
    let on = inspected.as_ref().map_or_else(Vec::new, |inspected| {
        on_machines::on_machines(booth, library, (id, print), inspected, last.is_some())
    });
    let at_best =
        inspected.as_ref().map(|inspected| on_machines::at_best(&on, print, inspected, last.is_some()));
    let since = last.map_or(i64::MIN, |last| last.at.unix_ms);
    ReelSheet {
        reel,
        last,
        at_best,
        on,
        wound: wound(print, reel.reel, runs),
        passes: runs.iter().map(|run| run.passes).sum(),
        passes_since: runs.iter().filter(|run| run.at.unix_ms > since).map(|run| run.passes).sum(),
        changes: gauge
            .map_or_else(Vec::new, |gauge| between::changes(booth, print, (reel.reel, runs), gauge)),
        caveats: caveats(print, reel.reel, last),
        inspected,
    }
}

/// Which end of a reel lies outside, by the last word on it. A pass through a machine turns it round, and nobody writes
/// that down; so a word from before the last run is not given.
fn wound(print: &Print, reel: u32, runs: &[PrintRun]) -> Option<(Wound, When)> {
    let by_bench = print.inspections_of(reel).filter_map(|it| Some((it.wound?, it.at)));
    let by_hand = print.handlings_of(reel).filter_map(|it| Some((it.wound?, it.at)));
    let last = by_bench.chain(by_hand).max_by_key(|(_, at)| at.unix_ms)?;
    let ran_since = runs.iter().any(|run| run.at.unix_ms > last.1.unix_ms);
    (!ran_since).then_some(last)
}

fn caveats(print: &Print, reel: u32, last: Option<&Inspection>) -> Vec<String> {
    let Some(last) = last else {
        return vec!["Nobody has inspected this reel in this booth.".to_owned()];
    };
    let mut caveats = Vec::new();
    let mended = print.handlings_of(reel).rfind(|deed| deed.deed == PrintDeed::Mended);
    if mended.is_some_and(|deed| deed.at.unix_ms > last.at.unix_ms) {
        caveats.push(
            "It was mended since this inspection: look at the places again and write them down.".to_owned(),
        );
    }
    if last.acid_level.is_none() && print.inspections_of(reel).any(|it| it.acid_level.is_some()) {
        caveats.push("The acid level is from an earlier inspection.".to_owned());
    }
    if last.shrinkage.is_empty() && print.inspections_of(reel).any(|it| !it.shrinkage.is_empty()) {
        caveats.push("The shrinkage is from an earlier inspection.".to_owned());
    }
    if last.vinegar == Some(true) && last.acid_level.is_none_or(|level| level < 1.0) {
        let words =
            "It smells of vinegar, and no acid paper confirms it: put a strip in the closed can for a day.";
        caveats.push(words.to_owned());
    }
    caveats
}
