//! What waits: news of things that come into the log only for a later moment, or never.
//!
//! A day may be all that is known of an entry, and then it stands at noon; so a fault can be noted before it is
//! opened and a showing held before it is planned. Such news waits and is taken in the end.

use super::{apply::Folding, line::Line, prints::PrintNews};
use crate::{
    When,
    booth::{Confirmed, FaultStep, OrderLineId, RepairRequest, Showing, ShowingState},
    ids::{EntryId, FaultId, ItemId, PrintId, ShowingId},
};

/// Everything that waits.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Pending {
    /// News of showings that are not in the diary.
    pub showings: Vec<Waiting>,
    /// News of faults that nobody opened.
    pub faults: Vec<WaitingFault>,
    /// News of prints that are not in the booth.
    pub prints: Vec<(PrintId, Line, PrintNews)>,
    /// Runs for showings that were called off at the time: showing, machine, line.
    pub called_off: Vec<(usize, usize, Line)>,
    /// Stock that was used but not counted before.
    pub uncounted: Vec<(ItemId, EntryId, When)>,
    /// What came in on an order.
    pub receipts: Vec<WaitingReceipt>,
}

/// What came in on an order.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct WaitingReceipt {
    pub line: OrderLineId,
    pub at: When,
    pub entry: EntryId,
    pub count: u32,
    pub closes: bool,
}

/// News of a showing.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Waiting {
    pub id: ShowingId,
    pub line: Line,
    pub what: WaitingFor,
}

/// What the news is.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum WaitingFor {
    Held { lasted_minutes: f64 },
    Cancelled { why: String },
    Ran { place: usize },
    Mentioned { place: Option<usize> },
}

/// News of a fault.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct WaitingFault {
    pub id: FaultId,
    pub line: Line,
    pub news: FaultNews,
}

/// What the news is.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum FaultNews {
    Noted(String),
    Step(Box<FaultStep>),
    Requested(Box<RepairRequest>),
    Closed { cause: String, cure: String, confirmed: Confirmed },
}

impl Folding {
    /// Takes everything that waits, or asks about it.
    pub fn settle_pending(&mut self) {
        let Pending { showings, faults, prints, uncounted, called_off, receipts } =
            std::mem::take(&mut self.pending);
        for waiting in showings {
            self.settle_showing(waiting);
        }
        let called_off_late = std::mem::take(&mut self.pending.called_off);
        for (showing, place, line) in called_off.into_iter().chain(called_off_late) {
            self.settle_called_off(showing, place, &line);
        }
        for WaitingFault { id, line, news } in faults {
            self.settle_fault(&id, &line, news);
        }
        self.put_faults_in_order();
        self.settle_prints(prints);
        for receipt in receipts {
            self.settle_receipt(receipt);
        }
        for (item, entry, at) in uncounted {
            if self.booth.stock.get(&item).is_some_and(|stock| stock.counted.is_none()) {
                let what = format!("“{item}” was used, but nobody ever counted how many there were");
                self.queries.ask(entry, at, None, what, "count it, so that the stock is known");
            }
        }
        for ((kind, version), ((entry, at), count)) in std::mem::take(&mut self.unknown) {
            let what = format!(
                "{count} of kind “{kind}” version {version} can only be read by a newer program; kept as written"
            );
            self.queries.ask(entry, at, None, what, "bring this program up to date");
        }
    }

    fn settle_showing(&mut self, waiting: Waiting) {
        let Waiting { id, line, what } = waiting;
        if let Some(at) = self.booth.showings.get_index_of(&id) {
            self.showing_news(&line, at, what);
            return;
        }
        let place = match what {
            WaitingFor::Ran { place } => Some(place),
            WaitingFor::Mentioned { place } => place,
            WaitingFor::Held { .. } | WaitingFor::Cancelled { .. } => None,
        };
        let what = format!("showing “{id}” never stood in the diary");
        self.ask(
            &line,
            place,
            what,
            "plan it, for the day on which it was, or correct which showing was meant",
        );
    }

    /// Asks about a run for a showing that was called off and was neither planned again nor held since.
    fn settle_called_off(&mut self, showing: usize, place: usize, line: &Line) {
        let showing = &self.booth.showings[showing];
        if matches!(showing.state, ShowingState::Cancelled { .. }) {
            let what = format!("a machine ran for “{}”, which was called off", showing.title);
            let settle = "correct the showing that it ran for, or withdraw the calling off";
            self.ask(line, Some(place), what, settle);
        }
    }

    fn settle_fault(&mut self, id: &FaultId, line: &Line, news: FaultNews) {
        if self.booth.faults.contains_key(id) {
            self.fault_news(line, id, news);
        } else {
            let what = format!("nobody ever opened fault “{id}”; the entry is kept but changes nothing");
            self.ask(
                line,
                None,
                what,
                "open the fault, for the moment at which it was met, or correct which was meant",
            );
        }
    }

    /// Asks about machines that are wanted by two showings at once.
    pub fn ask_about_overlaps(&mut self) {
        let mut wanted = Vec::new();
        for (number, showing) in
            self.booth.showings.values().enumerate().filter(|(_, showing)| occupies(showing))
        {
            let (from, to) = (showing.starts.timestamp(), showing.ends());
            for (machine, _) in &showing.machines {
                if let Some(place) = self.booth.machines.get_index_of(machine) {
                    wanted.push((place, from, to, number));
                }
            }
        }
        wanted.sort_unstable();
        for same in wanted.chunk_by(|a, b| a.0 == b.0) {
            self.ask_about_overlaps_of(same);
        }
    }

    fn ask_about_overlaps_of(&mut self, wanted: &[(usize, jiff::Timestamp, jiff::Timestamp, usize)]) {
        let mut longest: Option<(jiff::Timestamp, usize)> = None;
        for &(place, from, to, number) in wanted {
            if let Some((until, other)) = longest
                && from < until
                && number != other
            {
                self.ask_about_overlap(place, number, other);
            }
            if longest.is_none_or(|(until, _)| to > until) {
                longest = Some((to, number));
            }
        }
    }

    fn ask_about_overlap(&mut self, place: usize, a: usize, b: usize) {
        let (later, earlier) = if self.planned[a] > self.planned[b] { (a, b) } else { (b, a) };
        let (later, earlier) = (&self.booth.showings[later], &self.booth.showings[earlier]);
        let machine = self.booth.machines.get_index(place).map(|(id, _)| id);
        self.queries.ask(
            later.entry,
            When::from_zoned(&later.starts),
            machine,
            format!("“{}” and “{}” want this machine at the same time", earlier.title, later.title),
            "move or call off one of the two, or give it another machine",
        );
    }
}

/// Returns whether a showing keeps its machines busy, or did.
fn occupies(showing: &Showing) -> bool {
    !matches!(showing.state, ShowingState::Cancelled { .. })
}
