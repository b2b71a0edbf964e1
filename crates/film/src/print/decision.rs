//! May this reel be shown, on this machine, and under which conditions?

use super::{EdgePrint, Finding, Inspected, PerforationGrade, PrintSort, SpliceKind, What};
use crate::{
    Base, Gauge,
    shrinkage::{GRADES_SOURCE, ShrinkageGrade},
};
use std::fmt;
use units::{Frames, Percent};

/// What pulls the film down, frame by frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Puller {
    /// A claw with so many teeth, one after the other along the film.
    Claw {
        /// The teeth.
        teeth: u8,
    },
    /// A sprocket that turns step by step.
    Sprocket,
}

impl Puller {
    /// Teeth that share the pull; a sprocket has at least four in the film.
    pub const fn teeth(self) -> u8 {
        match self {
            Self::Claw { teeth } => teeth,
            Self::Sprocket => 4,
        }
    }
}

/// What makes a showing possible that would otherwise not be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Safeguard {
    /// Mend the torn perforations first.
    MendPerforations,
    /// Make the doubtful splices anew first.
    RemakeSplices,
    /// Put a leader on first.
    AddLeader,
    /// Ease the gate.
    EaseTheGate,
    /// Only on a machine whose claw has several teeth, or with a stepping sprocket.
    SeveralTeeth,
    /// Somebody stands beside the machine all through.
    StandBeside,
    /// One pass, and no rewinding on the machine.
    OnePass,
    /// Whoever answers for the print says yes in writing.
    SupervisorsYes,
    /// Look at the perforations afterwards and write down what is found.
    InspectAfter,
    /// Clean the gate and the drum afterwards, and wash hands.
    CleanAfter,
    /// Somebody sees to what nobody has looked at.
    FinishTheInspection,
}

impl Safeguard {
    /// The safeguard as an instruction.
    pub const fn words(self) -> &'static str {
        match self {
            Self::MendPerforations => "mend the torn perforations first",
            Self::RemakeSplices => "make the doubtful splices anew first",
            Self::AddLeader => "put a leader on first",
            Self::EaseTheGate => "ease the gate",
            Self::SeveralTeeth => "only where a claw of several teeth or a stepping sprocket pulls it",
            Self::StandBeside => "stand beside the machine all through",
            Self::OnePass => "one pass only, and rewind it on the bench",
            Self::SupervisorsYes => "have the yes of whoever answers for the print, in writing",
            Self::InspectAfter => "look at the perforations afterwards and write down what you find",
            Self::CleanAfter => "clean gate and drum afterwards, and wash your hands",
            Self::FinishTheInspection => "finish the inspection first",
        }
    }
}

/// What is decided.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Decision {
    /// Show it.
    Show,
    /// Show it under these conditions, sorted.
    ShowIf(Vec<Safeguard>),
    /// Do not show it on this machine; on one whose claw has several teeth, or with a stepping sprocket, show it under
    /// these conditions, sorted.
    OtherMachine(Vec<Safeguard>),
    /// Do not show it here and now.
    DoNotShow,
    /// Do not show it, do not ship it, do not wind it: set it apart in a cool, ventilated place and call an archive.
    SetApart,
}

/// One reason.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    /// In a sentence.
    pub words: String,
    /// Where it is on the reel, in frames from the head; none: the whole reel.
    pub at: Option<Frames>,
    /// Where the rule comes from.
    pub source: &'static str,
}

/// The decision with its reasons, the gravest first.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// What is decided.
    pub decision: Decision,
    /// Why.
    pub reasons: Vec<Reason>,
}

/// Film of this gauge and older than this may be nitrate: professional 35 mm stock was nitrate until the early 1950s.
const NITRATE_UNTIL_YEAR: i16 = 1952;
/// The rule about nitrate: handling and storage are laid down in NFPA 40; the year is common knowledge of archives.
const NITRATE_SOURCE: &str = "NFPA 40 on handling cellulose nitrate film; the year from memory";
/// The acid paper's level from which a print is not shown, and the one from which it feeds its own decay: the user's
/// guide of the paper's makers, from memory.
const ACID_SOURCE: &str = "user's guide of acid-indicator paper, levels 0 to 3, from memory";
const ACID_STOP: f64 = 2.0;
const ACID_APART: f64 = 1.5;
const TRADE: &str = "common practice, no source";

/// Decides whether a reel may be shown on a machine that pulls the film this way.
///
/// Stop rules come first and each names itself; what is left is shown, if need be under conditions. What nobody has
/// looked at is never taken as good: the reel may be shown only after the inspection is finished.
pub fn decide(reel: &Inspected, sort: PrintSort, puller: Puller) -> Verdict {
    let mut weighing =
        Weighing { sort, puller, worst: Level::Fine, safeguards: Vec::new(), reasons: Vec::new() };
    weighing.nitrate(reel);
    weighing.acid(reel);
    weighing.shrinkage(reel);
    for finding in &reel.findings {
        weighing.finding(finding, reel.base);
    }
    weighing.gaps(reel);
    weighing.verdict()
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Level {
    Fine,
    Conditions,
    OtherMachine,
    Stop,
    Apart,
}

struct Weighing {
    sort: PrintSort,
    puller: Puller,
    worst: Level,
    safeguards: Vec<Safeguard>,
    reasons: Vec<(Level, Reason)>,
}

impl Weighing {
    fn nitrate(&mut self, reel: &Inspected) {
        let marked = reel.edge == EdgePrint::Nitrate || reel.base == Some(Base::Nitrate);
        let old = reel.gauge == Gauge::Mm35 && reel.made_year.is_none_or(|year| year <= NITRATE_UNTIL_YEAR);
        if marked {
            self.say(
                Level::Apart,
                None,
                NITRATE_SOURCE,
                "it is nitrate film: it burns without air and cannot be smothered",
            );
        } else if old && reel.edge != EdgePrint::Safety && reel.base != Some(Base::Polyester) {
            let age = reel.made_year.map_or_else(|| "of unknown age".to_owned(), |year| format!("of {year}"));
            let words = format!("35 mm film {age} may be nitrate, and nobody has read SAFETY on its edge");
            self.say(Level::Apart, None, NITRATE_SOURCE, words);
        }
    }

    fn acid(&mut self, reel: &Inspected) {
        let Some(level) = reel.acid_level else { return };
        if level >= ACID_STOP {
            let words = format!(
                "acid paper at {level}: the base is decaying; have it scanned, and keep it apart from other film"
            );
            self.say(Level::Stop, None, ACID_SOURCE, words);
        } else if level >= ACID_APART {
            self.need(&[Safeguard::OnePass, Safeguard::CleanAfter]);
            let words = format!(
                "acid paper at {level}: decay now feeds itself; keep it apart and cold, copy it soon"
            );
            self.say(Level::Conditions, None, ACID_SOURCE, words);
        }
    }

    fn shrinkage(&mut self, reel: &Inspected) {
        let Some(shrinkage) = reel.shrinkage else { return };
        let words = |why: &str| format!("shrunk by {:.2} %: {why}", shrinkage.percent());
        match ShrinkageGrade::of(shrinkage) {
            ShrinkageGrade::Normal => {}
            ShrinkageGrade::WithCare => self.shrunk_a_little(shrinkage),
            ShrinkageGrade::OnceOnly if self.sort == PrintSort::Unique => {
                self.say(Level::Stop, None, GRADES_SOURCE, words("too much for the only print there is"));
            }
            ShrinkageGrade::OnceOnly => {
                self.need(&[
                    Safeguard::OnePass,
                    Safeguard::EaseTheGate,
                    Safeguard::SupervisorsYes,
                    Safeguard::SeveralTeeth,
                    Safeguard::InspectAfter,
                ]);
                self.say(
                    self.one_tooth(),
                    None,
                    GRADES_SOURCE,
                    words("at most once, on the kindest machine"),
                );
            }
            grade @ (ShrinkageGrade::DoNotProject | ShrinkageGrade::ForTheArchive) => {
                self.say(Level::Stop, None, GRADES_SOURCE, words(grade.advice()));
            }
        }
    }

    fn shrunk_a_little(&mut self, shrinkage: Percent) {
        self.need(&[Safeguard::SeveralTeeth, Safeguard::InspectAfter]);
        let words = format!("shrunk by {:.2} %: {}", shrinkage.percent(), ShrinkageGrade::WithCare.advice());
        self.say(self.one_tooth(), None, GRADES_SOURCE, words);
    }

    /// A condition that a machine with one tooth does not meet.
    fn one_tooth(&self) -> Level {
        if self.puller.teeth() < 2 { Level::OtherMachine } else { Level::Conditions }
    }

    fn finding(&mut self, finding: &Finding, base: Option<Base>) {
        let at = Some(finding.from);
        match finding.what {
            What::Splice { kind: SpliceKind::Cement, .. } if base == Some(Base::Polyester) => {
                self.need(&[Safeguard::RemakeSplices]);
                self.say(Level::Conditions, at, TRADE, "a cement splice does not hold polyester");
            }
            What::Splice { holds: false, .. } => {
                self.need(&[Safeguard::RemakeSplices]);
                self.say(Level::Conditions, at, TRADE, "a splice lifts when it is flexed");
            }
            What::Perforations(grade) => self.perforations(grade, at),
            What::Tear => {
                self.need(&[Safeguard::RemakeSplices, Safeguard::StandBeside]);
                self.say(Level::Conditions, at, TRADE, "a tear reaches into the picture");
            }
            What::Warp => {
                self.need(&[Safeguard::EaseTheGate, Safeguard::StandBeside]);
                self.say(
                    Level::Conditions,
                    at,
                    TRADE,
                    "the film does not lie flat: it will not stay sharp, and may catch",
                );
            }
            What::Splice { .. } | What::Scratch { .. } | What::Oil | What::Burn => {}
        }
    }

    fn perforations(&mut self, grade: PerforationGrade, at: Option<Frames>) {
        match grade {
            PerforationGrade::Perfect | PerforationGrade::Worn => {}
            PerforationGrade::Cracked => {
                self.need(&[Safeguard::InspectAfter]);
                self.say(Level::Conditions, at, TRADE, "cracked perforations");
            }
            PerforationGrade::Torn => {
                self.need(&[Safeguard::MendPerforations, Safeguard::InspectAfter]);
                self.say(Level::Conditions, at, TRADE, "torn perforations");
            }
            PerforationGrade::TornInARow if self.sort == PrintSort::Unique => {
                let words = "three or more perforations torn in a row, on the only print there is";
                self.say(Level::Stop, at, TRADE, words);
            }
            PerforationGrade::TornInARow => {
                self.need(&[
                    Safeguard::MendPerforations,
                    Safeguard::SeveralTeeth,
                    Safeguard::StandBeside,
                    Safeguard::OnePass,
                    Safeguard::InspectAfter,
                ]);
                let words = "three or more perforations torn in a row, which a one-tooth claw cannot bridge";
                self.say(self.one_tooth(), at, TRADE, words);
            }
        }
    }

    /// What is missing, on the reel and in the inspection.
    fn gaps(&mut self, reel: &Inspected) {
        if !reel.has_leader {
            self.need(&[Safeguard::AddLeader]);
            self.say(Level::Conditions, None, TRADE, "it has no leader to thread by");
        }
        let unseen: Vec<&str> = [
            (reel.shrinkage.is_none(), "its shrinkage"),
            (reel.base.is_none(), "its base"),
            (reel.acid_level.is_none() && reel.base != Some(Base::Polyester), "its acidity"),
        ]
        .into_iter()
        .filter_map(|(missing, what)| missing.then_some(what))
        .collect();
        // A copy that can be had again is shown on a look at its perforations and splices, as the trade does.
        if !unseen.is_empty() && self.sort != PrintSort::Replaceable {
            self.need(&[Safeguard::FinishTheInspection]);
            let words = format!("nobody has looked at {}", unseen.join(" and "));
            self.say(Level::Conditions, None, TRADE, words);
        }
    }

    fn need(&mut self, safeguards: &[Safeguard]) {
        self.safeguards.extend_from_slice(safeguards);
    }

    fn say(&mut self, level: Level, at: Option<Frames>, source: &'static str, words: impl Into<String>) {
        self.worst = self.worst.max(level);
        self.reasons.push((level, Reason { words: words.into(), at, source }));
    }

    fn verdict(mut self) -> Verdict {
        self.safeguards.sort_unstable();
        self.safeguards.dedup();
        self.reasons.sort_by_key(|(level, reason)| (std::cmp::Reverse(*level), reason.at));
        let decision = match self.worst {
            Level::Fine => Decision::Show,
            Level::Conditions => Decision::ShowIf(self.safeguards),
            Level::OtherMachine => Decision::OtherMachine(self.safeguards),
            Level::Stop => Decision::DoNotShow,
            Level::Apart => Decision::SetApart,
        };
        Verdict { decision, reasons: self.reasons.into_iter().map(|(_, reason)| reason).collect() }
    }
}

impl fmt::Display for Decision {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Show => f.write_str("show it"),
            Self::ShowIf(safeguards) => write!(f, "show it, on these conditions: {}", listed(safeguards)),
            Self::OtherMachine(safeguards) => {
                write!(f, "not on this machine; on another, on these conditions: {}", listed(safeguards))
            }
            Self::DoNotShow => f.write_str("do not show it"),
            Self::SetApart => f.write_str(
                "do not show, wind or ship it: set it apart in a cool, ventilated place, away from people, and call an archive or the fire authority",
            ),
        }
    }
}

fn listed(safeguards: &[Safeguard]) -> String {
    safeguards.iter().map(|safeguard| safeguard.words()).collect::<Vec<_>>().join("; ")
}
