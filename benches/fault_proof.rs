//! Invented faults on each symptom of each shipped type, worked to their end by the advice and down the printed list,
//! beside what no plan could do for less.
//!
//! `cargo bench -p benches --bench fault_proof -- [PART OF A SYMPTOM] [--type PART OF A TYPE] [--faults N] [--looks N]
//! [--go-on] [--out FILE]`
//!
//! It writes a line for each symptom as it goes; with `--go-on` the symptoms that the file already has are left alone,
//! so that it can be run in pieces.

use booth::desk::{SINCE_IT_RAN_WELL, after_show, trouble_model};
use faults::{
    advise::{Bounds, Setting, bounds, bounds_apart},
    case::Case,
    model::{SymptomId, TroubleModel},
    prove::{Distribution, prove_symptom},
};
use std::{fs, io::Write as _, path::PathBuf};

const FAULTS: usize = 1000;
/// So many states of a symptom are looked into to bound the best plan.
const LOOKS: usize = 1500;
/// And so many times as many, with pairs told apart, where a miss is not yet proved to be one that nobody can mend.
const FURTHER: [usize; 3] = [4, 16, 64];
/// Where that leaves it open, so many times as many faults are worked: a share near the goal must not hang on luck.
const MORE_FAULTS: usize = 10;
const SEED: u64 = 1;
/// Mended or rightly passed on, of all faults of a symptom.
const RIGHT: f64 = 0.98;
/// The mean cost, of working down the printed list.
const OF_THE_LIST: f64 = 0.6;
/// The cost over the exact optimum.
const OVER_THE_BEST: f64 = 1.1;
const HEADING: &str = "type,symptom,faults,mended,rightly_passed_on,passed_on_for_safety,wrongly_passed_on,stopped_for_danger,\
                       beyond_cure,right,work,half_under,nine_in_ten_under,list_work,cost,list_cost,share,told_share,\
                       at_least_share,at_most_share,exact,with_calls,list_with_calls,share_with_calls,over_best";

fn main() {
    let asked = Asked::read();
    let mut rows = asked.kept();
    let mut file = asked.begin(&rows);
    for kind in machine::shipped().iter().filter(|kind| kind.id.as_ref().contains(asked.kind.as_str())) {
        let model = trouble_model(&kind.trouble, SINCE_IT_RAN_WELL).expect("a shipped table is sound");
        let setting = after_show(&kind.trouble);
        for symptom in model.symptoms() {
            let name = kind.id.to_string();
            let known = |row: &Row| row.is_of(&name, symptom.id.as_str());
            if !asked.wants(symptom.id.as_str()) || rows.iter().any(known) {
                continue;
            }
            let row = Row::of(&name, &model, &symptom.id, &setting, &asked);
            writeln!(file, "{}", row.0.join(",")).expect("the file can be written");
            rows.push(row);
        }
        tell_all(kind.id.as_ref(), &rows);
    }
    println!("{}", asked.out.display());
}

struct Asked {
    part: String,
    kind: String,
    faults: usize,
    looks: usize,
    goes_on: bool,
    out: PathBuf,
}

impl Asked {
    fn read() -> Self {
        let out = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../target/fault_proof.csv");
        let mut asked = Self {
            part: String::new(),
            kind: String::new(),
            faults: FAULTS,
            looks: LOOKS,
            goes_on: false,
            out,
        };
        let mut words = std::env::args().skip(1);
        while let Some(word) = words.next() {
            let mut value = || words.next().unwrap_or_else(|| panic!("{word} wants a value"));
            let number = |value: String| value.parse().unwrap_or_else(|_| panic!("{value} is no number"));
            match word.as_str() {
                "--type" => asked.kind = value(),
                "--faults" => asked.faults = number(value()),
                "--looks" => asked.looks = number(value()),
                "--out" => asked.out = value().into(),
                "--go-on" => asked.goes_on = true,
                // What cargo itself says to a bench.
                "--bench" => {}
                part if !part.starts_with('-') => part.clone_into(&mut asked.part),
                other => panic!("{other} is not known here"),
            }
        }
        asked
    }

    fn wants(&self, symptom: &str) -> bool {
        symptom.contains(self.part.as_str())
    }

    /// The lines that an earlier run left.
    fn kept(&self) -> Vec<Row> {
        let text =
            if self.goes_on { fs::read_to_string(&self.out).unwrap_or_default() } else { String::new() };
        let lines = text.lines().skip(1).map(|line| Row(line.split(',').map(str::to_owned).collect()));
        lines.filter(|row: &Row| row.0.len() == HEADING.split(',').count()).collect()
    }

    fn begin(&self, kept: &[Row]) -> fs::File {
        let mut file = fs::File::create(&self.out).expect("the file can be made");
        writeln!(file, "{HEADING}").expect("the file can be written");
        for row in kept {
            writeln!(file, "{}", row.0.join(",")).expect("the file can be written");
        }
        file
    }
}

/// A line of the file.
struct Row(Vec<String>);

impl Row {
    fn of(kind: &str, model: &TroubleModel, symptom: &SymptomId, setting: &Setting, asked: &Asked) -> Self {
        let prove =
            |faults| prove_symptom(model, symptom, setting, faults, SEED).expect("the model's own symptom");
        let case = Case::of(symptom.clone());
        let (mut found, mut best) = (prove(asked.faults), bounds(model, &case, setting, asked.looks));
        for further in FURTHER {
            if is_open(&found, &best) {
                best = bounds_apart(model, &case, setting, asked.looks * further);
            }
            if is_open(&found, &best) && found.n == asked.faults {
                found = prove(asked.faults * MORE_FAULTS);
            }
        }
        let mut row = vec![kind.to_owned(), symptom.to_string()];
        row.extend(
            [
                found.n,
                found.fixed,
                found.rightly_passed_on,
                found.passed_on_for_safety,
                found.wrongly_passed_on,
                found.stopped_for_danger,
                found.beyond_cure,
            ]
            .map(|count| count.to_string()),
        );
        row.extend(costs(&found, &best));
        Self(row)
    }

    fn is_of(&self, kind: &str, symptom: &str) -> bool {
        self.0[0] == kind && self.0[1] == symptom
    }

    fn number(&self, column: &str) -> f64 {
        let place = HEADING.split(',').position(|name| name == column).expect("a column of the file");
        self.0[place].parse().expect("a number")
    }
}

/// Does the advice cost more of the list than it should, where the bound does not yet say that it must?
fn is_open(found: &Distribution, best: &Bounds) -> bool {
    found.mean_avoidable() > OF_THE_LIST * found.printed_mean_avoidable()
        && best.at_least - found.give_up * found.beyond_cure_chance
            <= OF_THE_LIST * found.printed_avoidable_in_the_long_run
}

/// The columns from `right` on.
fn costs(found: &Distribution, best: &Bounds) -> Vec<String> {
    let quantile = |sorted: &[f64], share: f64| sorted[((sorted.len() - 1) as f64 * share) as usize];
    let unsparable = found.give_up * found.beyond_cure_chance;
    let (cost, list) = (found.mean_avoidable(), found.printed_mean_avoidable());
    let share = |price: f64| (price - unsparable).max(0.0) / found.printed_avoidable_in_the_long_run;
    let (with_calls, list_with_calls) = (found.mean_cost_in_the_long_run(), list + unsparable);
    let mut columns = vec![
        found.right(),
        found.mean_work(),
        quantile(&found.work, 0.5),
        quantile(&found.work, 0.9),
        found.printed_mean_work(),
        cost,
        list,
        cost / list,
        share(best.told),
        share(best.at_least),
        share(best.at_most),
    ];
    columns.push(f64::from(u8::from(best.is_exact())));
    columns.extend([with_calls, list_with_calls, with_calls / list_with_calls, with_calls / best.at_least]);
    columns.into_iter().map(|value| format!("{value:.4}")).collect()
}

/// The distribution over the symptoms of one type.
fn tell_all(kind: &str, rows: &[Row]) {
    let rows: Vec<&Row> = rows.iter().filter(|row| row.0[0] == kind).collect();
    if rows.is_empty() {
        return;
    }
    let sorted = |column: &str| {
        let mut values: Vec<f64> = rows.iter().map(|row| row.number(column)).collect();
        values.sort_by(f64::total_cmp);
        values
    };
    let five = |column: &str| {
        let sorted = sorted(column);
        [0.0, 0.25, 0.5, 0.75, 1.0].map(|share| sorted[((sorted.len() - 1) as f64 * share) as usize])
    };
    let sum = |column: &str| rows.iter().map(|row| row.number(column)).sum::<f64>();
    let count = |test: &dyn Fn(&Row) -> bool| rows.iter().filter(|row| test(row)).count();
    let misses = |row: &Row| row.number("share") > OF_THE_LIST;
    let impossible = |row: &Row| misses(row) && row.number("at_least_share") > OF_THE_LIST;
    let for_safety = |row: &Row| row.number("stopped_for_danger") > 0.0;
    let is_exact = |row: &Row| row.number("exact") > 0.5;
    println!("{kind}: {} symptoms", rows.len());
    println!(
        "  right: least {:.3}; at least {RIGHT} in {}",
        five("right")[0],
        count(&|row| row.number("right") >= RIGHT)
    );
    println!(
        "  cost, of the list's: mean {:.3}; least, quartiles, most {:.2?}",
        sum("cost") / sum("list_cost"),
        five("share")
    );
    println!(
        "  bound from below, of the list's: {:.3}; {:.2?}",
        sum_of(&rows, "at_least_share") / sum("list_cost"),
        five("at_least_share")
    );
    println!(
        "  at most {OF_THE_LIST}: {}; of the rest, impossible: {}, stopped for safety: {}, left: {}",
        count(&|row| !misses(row)),
        count(&impossible),
        count(&|row| misses(row) && !impossible(row) && for_safety(row)),
        count(&|row| misses(row) && !impossible(row) && !for_safety(row)),
    );
    println!(
        "  with all calls: {:.3}; {:.2?}",
        sum("with_calls") / sum("list_with_calls"),
        five("share_with_calls")
    );
    println!(
        "  over the bound from below: {:.3?}; bound exact in {}, of them within {OVER_THE_BEST}: {}",
        five("over_best"),
        count(&is_exact),
        count(&|row| is_exact(row) && row.number("over_best") <= OVER_THE_BEST),
    );
}

/// A share of the list's cost, in minutes, summed over the symptoms.
fn sum_of(rows: &[&Row], share: &str) -> f64 {
    rows.iter().map(|row| row.number(share) * row.number("list_cost")).sum()
}
