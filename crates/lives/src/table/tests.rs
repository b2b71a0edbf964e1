#![allow(clippy::unwrap_used)]
use super::*;
use crate::{Life, fit, fit::Model};

#[test]
fn every_kind_of_row_is_read_whatever_the_order_of_columns() {
    let text = "ending;note;left;entered;found;count\nfailed;x;12.5;;;\n\"censored\";;30;4;;\r\nbetween;;10;;20;3\n\nfailed-before;;8e0;1;;\n";
    let table = LifeTable::from_text(text.as_bytes(), 2).unwrap();
    let wanted = [
        LifeRecord::failed(12.5),
        LifeRecord::censored(30.0).entered_at(4.0),
        LifeRecord::between(10.0, 20.0).times(3),
        LifeRecord::failed_before(8.0).entered_at(1.0),
    ];
    assert_eq!(table.lives().unwrap().records(), wanted);
    assert_eq!(table.rows(), 4);
}

#[test]
fn faulty_lines_are_named_by_their_number_whatever_the_threads() {
    let mut text = "entered,left,ending\n".to_owned();
    for at in 0..200 {
        text += if at % 50 == 7 { ",abc,failed\n" } else { ",5,failed\n" };
    }
    text += "9,5,censored\n,5,broken\n";
    for threads in [1, 2, 3] {
        let TableError::Lines { faults, more } = LifeTable::from_text(text.as_bytes(), threads).unwrap_err()
        else {
            panic!("lines are at fault");
        };
        let lines: Vec<usize> = faults.iter().map(|fault| fault.line).collect();
        assert_eq!((lines, more), (vec![9, 59, 109, 159, 202, 203], 0), "{threads}");
        assert_eq!(faults[0].to_string(), "line 9: column `left`: `abc` is no number");
    }
    assert_eq!(LifeTable::from_text(b" \n", 1).unwrap_err(), TableError::Empty);
    let error = LifeTable::from_text(b"entered,ending\n1,failed\n", 1).unwrap_err();
    assert_eq!(error, TableError::NoColumn { column: "left" });
}

#[test]
fn plain_numbers_are_read_exactly() {
    for text in [
        "0",
        "7",
        "12.5",
        "0.1",
        "123456.789012345",
        "1e-3",
        "999999999999999",
        "0.000000000000001",
        "3.",
        ".5",
    ] {
        let table = LifeTable::from_text(format!("left,ending\n{text},censored").as_bytes(), 1).unwrap();
        let crate::Ending::Censored(age) = table.lives().unwrap().records()[0].ending else {
            panic!("censored")
        };
        assert_eq!(age.to_bits(), text.parse::<f64>().unwrap().to_bits(), "{text}");
    }
}

fn many(late: bool) -> LifeTable {
    let life = Life::Weibull { shape: 1.8, scale: 900.0 };
    let mut table = LifeTable::default();
    for at in 0..30_000 {
        let u = (f64::from(at) * 0.618_033_988_749_895 + 0.5).fract();
        let entered = if late && at % 3 == 0 { 10.0 + f64::from(at % 700) } else { 0.0 };
        let age = life.fails_at(entered, u);
        let watched_until = entered + 300.0 + f64::from(at % 1000);
        let record =
            if age > watched_until { LifeRecord::censored(watched_until) } else { LifeRecord::failed(age) };
        table.push(record.entered_at(entered));
    }
    table
}

#[test]
fn a_gathered_fit_is_the_fit_of_the_records() {
    for late in [false, true] {
        let table = many(late);
        for model in [Model::Weibull, Model::Exponential] {
            let quick = fit_table(model, &table, 0.95, 2).unwrap();
            let slow = fit::fit(model, &table.lives().unwrap(), 0.95).unwrap();
            let near = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 1e-9, "{a} {b}");
            near(quick.life.shape(), slow.life.shape());
            near(quick.life.scale(), slow.life.scale());
            near(quick.ln_likelihood, slow.ln_likelihood);
            near(quick.likelihood_ratio.scale.unwrap().low, slow.likelihood_ratio.scale.unwrap().low);
            assert_eq!((quick.n, quick.failures), (slow.n, slow.failures));
        }
    }
}

#[test]
fn lives_too_alike_for_cells_are_taken_one_by_one() {
    let life = Life::Weibull { shape: 60.0, scale: 900.0 };
    let mut table = LifeTable::default();
    for at in 0..25_000 {
        table.push(LifeRecord::failed(life.quantile((f64::from(at) + 0.5) / 25_000.0)));
    }
    let found = fit_table(Model::Weibull, &table, 0.95, 2).unwrap();
    let slow = fit::fit(Model::Weibull, &table.lives().unwrap(), 0.95).unwrap();
    assert_eq!(found.life, slow.life);
}

#[test]
fn pairs_are_read_and_half_a_pair_is_refused() {
    let bytes: Vec<u8> = [0.0_f64, 12.0, 3.0, -40.0].iter().flat_map(|number| number.to_le_bytes()).collect();
    let table = LifeTable::from_pairs(&bytes).unwrap();
    assert_eq!(
        table.lives().unwrap().records(),
        [LifeRecord::failed(12.0), LifeRecord::censored(40.0).entered_at(3.0)]
    );
    assert_eq!(LifeTable::from_pairs(&bytes[..20]).unwrap_err(), TableError::HalfAPair { bytes: 20 });
    let faulty: Vec<u8> = [f64::NAN, 12.0].iter().flat_map(|number| number.to_le_bytes()).collect();
    assert!(LifeTable::from_pairs(&faulty).is_err());
}
