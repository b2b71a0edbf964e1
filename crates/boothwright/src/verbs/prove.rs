//! `prove`: simulated booths, run by several policies side by side.

use crate::{
    cli::Common,
    failure::{Failure, Kind, Outcome},
    print,
    verbs::sound::picture::draw,
};
use clap::{Args, ValueEnum};
use prove::{PolicyKind, Setting};
use std::{fs, path::PathBuf};

/// A report over more booths says nothing new and takes days.
const MOST_BOOTHS: u64 = 100_000;

/// Play simulated booths over years by several policies: stoppages, hours, parts, cost, and whether chances were right
#[derive(Debug, Args)]
pub struct Prove {
    /// Booths
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = clap::builder::RangedU64ValueParser::<usize>::new().range(1..=MOST_BOOTHS))]
    booths: usize,
    /// Years that each booth runs
    #[arg(long, value_name = "YEARS", default_value_t = 10.0)]
    years: f64,
    /// What the luck is drawn from; the same seed gives the same report
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Who runs the booths; may be given several times
    #[arg(long, value_enum, value_name = "POLICY")]
    policy: Vec<Who>,
    /// For `careful`: a stoppage counts for so many times its price
    #[arg(long, value_name = "TIMES", default_value_t = 40.0)]
    dread: f64,
    /// Threads; they change how long it takes, not what comes out (left out: as many as there are processors)
    #[arg(long, value_name = "N")]
    threads: Option<usize>,
    /// Write the plots into this folder, as SVG and PNG
    #[arg(long, value_name = "DIR")]
    plots: Option<PathBuf>,
}

/// Who runs the booths.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum Who {
    /// Parts are changed at the intervals of the machine types
    Handbook,
    /// Parts are left until they fail
    ToFailure,
    /// Boothwright's advice, at the least cost
    Advice,
    /// The same advice, where a stoppage counts for more than its price
    Careful,
    /// The same advice, had it been told the hidden lives
    Told,
}

impl Who {
    const fn kind(self) -> PolicyKind {
        match self {
            Self::Handbook => PolicyKind::Handbook,
            Self::ToFailure => PolicyKind::ToFailure,
            Self::Advice => PolicyKind::Advice,
            Self::Careful => PolicyKind::Careful,
            Self::Told => PolicyKind::Told,
        }
    }
}

impl Prove {
    /// Plays, prints, draws.
    pub fn run(&self, common: &Common) -> Outcome {
        let usual = Setting::default();
        let policies = if self.policy.is_empty() {
            usual.policies
        } else {
            PolicyKind::ALL
                .into_iter()
                .filter(|kind| self.policy.iter().any(|who| who.kind() == *kind))
                .collect()
        };
        let processors = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let setting = Setting {
            booths: self.booths,
            years: self.years,
            seed: self.seed,
            policies,
            dread: self.dread,
            threads: self.threads.unwrap_or(processors),
        };
        let library = machine::shipped();
        let scenario = booth::proving::scenario(library.iter());
        let report = prove::prove(&scenario, &setting).map_err(|error| Failure::new(Kind::Usage, error))?;
        if let Some(folder) = &self.plots {
            Self::draw_into(folder, &report)?;
        }
        if common.json {
            return print::json(&report);
        }
        print::sheet(&views::proving::sheet(&report))
    }

    fn draw_into(folder: &std::path::Path, report: &prove::Report) -> Outcome {
        fs::create_dir_all(folder).map_err(|error| {
            Failure::new(Kind::World, format!("cannot make the folder {}: {error}", folder.display()))
        })?;
        for (name, picture) in views::proving::pictures(report) {
            draw(&folder.join(format!("{name}.svg")), &picture)?;
            #[cfg(feature = "png")]
            draw(&folder.join(format!("{name}.png")), &picture)?;
        }
        Ok(())
    }
}
