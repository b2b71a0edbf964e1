//! Prints: how they come, run, are inspected and go.

use super::{apply::Folding, line::Line};
use crate::{
    booth::{Handling, Inspection, Print, PrintRun},
    fact::{PrintAdded, PrintHandled, PrintInspected, Ran},
    ids::PrintId,
    rules,
};
use std::mem::take;
use units::Hours;

/// News of a print that is not in the booth yet.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum PrintNews {
    Ran(PrintRun),
    Inspected(Box<Inspection>),
    Handled(Handling),
}

impl Folding {
    /// A print enters, or what is known of it changes.
    pub fn print_added(&mut self, line: &Line, fact: &mut PrintAdded) {
        let before = self.booth.prints.get_mut(&fact.print).map(take).unwrap_or_default();
        let mut reels = take(&mut fact.reels);
        let all = reels.len();
        reels.retain(|reel| reel.length_m.is_finite() && reel.length_m.metres() > 0.0);
        if reels.len() < all {
            self.ask(
                line,
                None,
                "a reel without a length is left out",
                "correct the reel's length in metres",
            );
        }
        let print = Print {
            title: take(&mut fact.title),
            gauge: take(&mut fact.gauge),
            reels,
            lender: take(&mut fact.lender),
            standing: fact.standing,
            made_year: fact.made_year,
            note: take(&mut fact.note),
            added: before.added.or(Some((line.at, line.id))),
            ..before
        };
        self.booth.prints.insert(fact.print.clone(), print);
    }

    /// A print ran through a machine: once, unless somebody says how often.
    pub fn print_ran(&mut self, line: &Line, print: &PrintId, ran: &Ran, hours: Hours) {
        let run = PrintRun {
            at: line.at,
            machine: ran.machine.clone(),
            run: ran.run,
            showing: ran.showing.clone(),
            passes: ran.passes.unwrap_or(1),
            hours,
            entry: line.id,
        };
        self.at_print(line, print, PrintNews::Ran(run));
    }

    /// A reel was inspected. What cannot be on film is left out, and somebody is asked.
    pub fn print_inspected(&mut self, line: &Line, fact: &mut PrintInspected) {
        let (mut found, mut shrinkage) = (take(&mut fact.found), take(&mut fact.shrinkage));
        let told = found.len() + shrinkage.len();
        found.retain(rules::can_be_found);
        shrinkage.retain(rules::can_be_gauged);
        found.sort_by_key(|found| (found.from_frame, found.to_frame));
        shrinkage.sort_by_key(|taken| taken.at_frame);
        let length = fact.length_m.filter(|length| rules::is_reel_length(*length));
        let acid_level = fact.acid_level.filter(|level| rules::is_acid_level(*level));
        let dropped = length != fact.length_m || acid_level != fact.acid_level;
        if found.len() + shrinkage.len() < told || dropped {
            let what = "something in this inspection cannot be on film and is left out";
            self.ask(line, None, what, "correct the frames, grades and measures of the inspection");
        }
        let inspection = Inspection {
            at: line.at,
            reel: fact.reel,
            length,
            base: fact.base,
            edge: fact.edge,
            shrinkage,
            acid_level,
            vinegar: fact.vinegar,
            fade: fact.fade,
            leader: fact.leader,
            wound: fact.wound,
            spool: take(&mut fact.spool),
            found,
            note: take(&mut fact.note),
            photos: take(&mut fact.photos),
            entry: line.id,
            by: line.said_by().clone(),
        };
        self.at_print(line, &fact.print, PrintNews::Inspected(Box::new(inspection)));
    }

    /// A print came, was rewound, cleaned or mended, or went out.
    pub fn print_handled(&mut self, line: &Line, fact: &mut PrintHandled) {
        let handling = Handling {
            at: line.at,
            deed: fact.deed,
            reels: take(&mut fact.reels),
            wound: fact.wound,
            whom: take(&mut fact.whom),
            condition: take(&mut fact.condition),
            note: take(&mut fact.note),
            entry: line.id,
            by: line.said_by().clone(),
        };
        self.at_print(line, &fact.print, PrintNews::Handled(handling));
    }

    fn at_print(&mut self, line: &Line, id: &PrintId, news: PrintNews) {
        match self.booth.prints.get_mut(id) {
            Some(print) => print.take_news(news),
            None => self.pending.prints.push((id.clone(), line.clone(), news)),
        }
    }

    /// Takes news that came before its print, or asks which print was meant.
    pub fn settle_prints(&mut self, waiting: Vec<(PrintId, Line, PrintNews)>) {
        for (id, line, news) in waiting {
            if let Some(print) = self.booth.prints.get_mut(&id) {
                print.take_news(news);
                continue;
            }
            let what = match news {
                PrintNews::Ran(_) => format!("print “{id}” ran, but it is not in the booth"),
                PrintNews::Inspected(_) => format!("print “{id}” was inspected, but it is not in the booth"),
                PrintNews::Handled(_) => {
                    format!("print “{id}” came, went or was rewound, but it is not in the booth")
                }
            };
            let settle = "add the print, or correct which one was meant";
            self.queries.ask(line.id, line.at, None, what, settle);
        }
        // What waited belongs before what came later.
        for print in self.booth.prints.values_mut() {
            print.runs.sort_by_key(|run| (run.at.unix_ms, run.entry));
            print.inspections.sort_by_key(|inspection| (inspection.at.unix_ms, inspection.entry));
            print.handled.sort_by_key(|deed| (deed.at.unix_ms, deed.entry));
        }
    }
}

impl Print {
    fn take_news(&mut self, news: PrintNews) {
        match news {
            PrintNews::Ran(run) => {
                self.passes = self.passes.saturating_add(run.passes);
                self.hours += run.hours;
                self.runs.push(run);
            }
            PrintNews::Inspected(inspection) => self.inspections.push(*inspection),
            PrintNews::Handled(handling) => self.handled.push(handling),
        }
    }
}
