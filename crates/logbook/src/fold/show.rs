//! Programmes and the marks of running shows.

use super::{apply::Folding, line::Line};
use crate::{
    booth::{Programme, ShowMarkRecord},
    fact::{ProgrammeKept, ShowMarked},
    rules,
};
use std::mem::take;

impl Folding {
    /// A programme is kept; the one before under the same id stays in the log.
    pub fn programme_kept(&mut self, line: &Line, fact: &mut ProgrammeKept) {
        for machine in &fact.machines {
            if !self.booth.machines.contains_key(machine) {
                self.ask_about_machine(line, Some(machine));
            }
        }
        for showing in &fact.showings {
            self.mention_showing(line, None, showing);
        }
        let mut items = take(&mut fact.items);
        let all: usize = items.iter().map(|item| item.reels.len()).sum();
        for item in &mut items {
            item.reels.retain(rules::is_reel_count);
        }
        items.retain(|item| !item.reels.is_empty() && rules::is_film_speed(item.speed_fps));
        if items.iter().map(|item| item.reels.len()).sum::<usize>() < all {
            let what = "a reel without a picture, or at a speed that film does not run at, is left out";
            self.ask(line, None, what, "correct the frames of the reel, or the speed of its item");
        }
        let programme = Programme {
            title: take(&mut fact.title),
            items,
            showings: take(&mut fact.showings),
            machines: take(&mut fact.machines),
            run_up: fact.run_up_seconds.filter(|time| rules::is_short_time(*time)),
            relace: fact.relace_seconds.filter(|time| rules::is_short_time(*time)),
            interval: fact.interval_seconds.filter(|time| rules::is_short_time(*time)),
            note: take(&mut fact.note),
            kept: (line.at, line.id),
        };
        self.booth.programmes.insert(fact.programme.clone(), programme);
    }

    /// Something happened in a running show.
    pub fn show_marked(&mut self, line: &Line, place: Option<usize>, fact: &mut ShowMarked) {
        if place.is_none() {
            self.ask_about_machine(line, fact.machine.as_ref());
        }
        self.mention_showing(line, place, &fact.showing);
        let mark = ShowMarkRecord {
            at: line.at,
            mark: fact.mark,
            reel: fact.reel,
            machine: fact.machine.clone(),
            note: take(&mut fact.note),
            entry: line.id,
            by: line.said_by().clone(),
        };
        self.booth.shows.entry(fact.showing.clone()).or_default().push(mark);
    }
}
