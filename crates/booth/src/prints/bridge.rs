//! From what the logbook keeps of a print to what the film room decides on.

use film::{
    Base, Gauge,
    print::{
        EdgePrint, Finding, Inspected, PerforationGrade, PrintSort, ScratchDepth, Side, SpliceKind, What,
    },
};
use logbook::{
    booth::{Inspection, Print},
    fact::{self, FilmBase, FilmSide, Flaw, Found, PrintStanding, Reel, SpliceMade},
};

/// The print's gauge, if what is written is one.
pub fn gauge(print: &Print) -> Option<Gauge> {
    print.gauge.parse().ok()
}

/// How early to stop, and whether anybody said so. What nobody said is taken as the stricter.
pub fn sort(print: &Print) -> (PrintSort, bool) {
    match print.standing {
        Some(PrintStanding::Replaceable) => (PrintSort::Replaceable, true),
        Some(PrintStanding::Lent) => (PrintSort::Lent, true),
        Some(PrintStanding::Unique) => (PrintSort::Unique, true),
        None if print.lender.is_empty() => (PrintSort::Unique, false),
        None => (PrintSort::Lent, false),
    }
}

/// What is known of a reel: the findings of the last inspection, and of what does not change by a pass the last word of
/// any inspection.
pub fn inspected(print: &Print, reel: &Reel, gauge: Gauge) -> Inspected {
    let last = print.inspections_of(reel.reel).next_back();
    let length = last.and_then(|last| last.length).unwrap_or(reel.length_m);
    let findings = last.map(|last| last.found.iter().map(finding).collect()).unwrap_or_default();
    Inspected {
        gauge,
        length: gauge.frames_in(length).unwrap_or_default(),
        base: latest(print, reel, |it| it.base).map(base),
        edge: latest(print, reel, |it| it.edge).map_or(EdgePrint::NotSeen, edge),
        made_year: print.made_year,
        shrinkage: latest(print, reel, worst_shrinkage),
        acid_level: latest(print, reel, |it| it.acid_level),
        findings,
        // A leader that nobody looked for is not said to be missing.
        has_leader: last.and_then(|last| last.leader).unwrap_or(true),
    }
}

fn latest<T>(print: &Print, reel: &Reel, told: impl Fn(&Inspection) -> Option<T>) -> Option<T> {
    print.inspections_of(reel.reel).rev().find_map(told)
}

/// The worst of head, middle and tail.
fn worst_shrinkage(inspection: &Inspection) -> Option<units::Percent> {
    inspection.shrinkage.iter().map(|taken| taken.shrinkage_percent).reduce(units::Percent::max)
}

/// A finding as the film room knows it.
pub fn finding(found: &Found) -> Finding {
    Finding { from: found.from_frame, to: found.to_frame.unwrap_or(found.from_frame), what: what(found) }
}

/// What the gate did not see to is taken as the worse: a splice that nobody flexed is doubtful.
fn what(found: &Found) -> What {
    match found.flaw {
        Flaw::Splice => What::Splice {
            kind: match found.splice {
                Some(SpliceMade::Cement) => SpliceKind::Cement,
                Some(SpliceMade::Weld) => SpliceKind::Weld,
                Some(SpliceMade::Tape) | None => SpliceKind::Tape,
            },
            holds: found.holds.unwrap_or(false),
        },
        Flaw::Perforations => What::Perforations(match found.grade {
            Some(0) => PerforationGrade::Perfect,
            Some(1) => PerforationGrade::Worn,
            Some(2) => PerforationGrade::Cracked,
            Some(3) => PerforationGrade::Torn,
            Some(_) | None => PerforationGrade::TornInARow,
        }),
        Flaw::Scratch => What::Scratch {
            side: if found.side == Some(FilmSide::Base) { Side::Base } else { Side::Emulsion },
            depth: match found.depth {
                Some(fact::ScratchDepth::Light) => ScratchDepth::Light,
                Some(fact::ScratchDepth::Heavy) | None => ScratchDepth::Heavy,
            },
            from_edge: found.from_edge_m,
        },
        Flaw::Dirt | Flaw::Oil => What::Oil,
        Flaw::Warp => What::Warp,
        Flaw::Tear => What::Tear,
        Flaw::Burn => What::Burn,
    }
}

const fn base(base: FilmBase) -> Base {
    match base {
        FilmBase::Acetate => Base::Acetate,
        FilmBase::Polyester => Base::Polyester,
        FilmBase::Nitrate => Base::Nitrate,
    }
}

const fn edge(edge: fact::EdgePrint) -> EdgePrint {
    match edge {
        fact::EdgePrint::Safety => EdgePrint::Safety,
        fact::EdgePrint::Nitrate => EdgePrint::Nitrate,
        fact::EdgePrint::NothingToRead => EdgePrint::NotSeen,
    }
}
