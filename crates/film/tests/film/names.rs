//! Names of gauges, sounds and bases: read in many spellings, written in one.

use film::{Base, Gauge, SoundKind};

#[test]
fn gauges_are_read_in_the_spellings_of_the_trade() {
    for (written, gauge) in [
        ("16mm", Gauge::Mm16),
        ("16 mm", Gauge::Mm16),
        ("16 MM", Gauge::Mm16),
        ("16\u{a0}mm", Gauge::Mm16),
        ("35mm", Gauge::Mm35),
        ("35", Gauge::Mm35),
        ("super8", Gauge::Super8),
        ("Super 8", Gauge::Super8),
        ("super-8", Gauge::Super8),
        ("S8", Gauge::Super8),
        ("standard8", Gauge::Standard8),
        ("Regular 8", Gauge::Standard8),
        ("8mm", Gauge::Standard8),
        ("8 mm", Gauge::Standard8),
        ("Double 8 mm", Gauge::Standard8),
    ] {
        assert_eq!(written.parse(), Ok(gauge), "{written}");
    }
    assert_eq!(
        "17.5mm".parse::<Gauge>().unwrap_err().to_string(),
        "\"17.5mm\" is not a gauge; write 16mm, 35mm, super8 or standard8"
    );
}

#[test]
fn every_name_reads_back_and_is_the_same_in_files() {
    for gauge in Gauge::ALL {
        assert_eq!(gauge.id().parse(), Ok(gauge));
        assert_eq!(gauge.to_string().parse(), Ok(gauge));
        let file = serde_json::to_string(&gauge).unwrap();
        assert_eq!(file, format!("\"{}\"", gauge.id()));
        assert_eq!(serde_json::from_str::<Gauge>(&file).unwrap(), gauge);
    }
    for sound in SoundKind::ALL {
        assert_eq!(sound.to_string().parse(), Ok(sound));
    }
    for base in Base::ALL {
        assert_eq!(base.to_string().parse(), Ok(base));
    }
    assert!("cellophane".parse::<Base>().unwrap_err().to_string().contains("acetate, polyester or nitrate"));
    assert!("loud".parse::<SoundKind>().unwrap_err().to_string().contains("silent, optical or magnetic"));
    assert!(serde_json::from_str::<Gauge>("\"70mm\"").unwrap_err().to_string().contains("is not a gauge"));
}
