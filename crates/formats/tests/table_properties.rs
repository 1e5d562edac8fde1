//! Any bytes give a table or an error; what is written is read back.
use formats::table::{Decimal, Delimiter, UnitPlace, Writing, decode, encode};
use mechanics::{Analog, Channel, Recording};
use proptest::prelude::*;

fn writings() -> impl Strategy<Value = Writing> {
    let delimiters = prop::sample::select(Delimiter::ALL.to_vec());
    let decimals = prop::sample::select(vec![Decimal::Point, Decimal::Comma]);
    let units = prop::sample::select(vec![UnitPlace::Header, UnitPlace::Row]);
    (delimiters, decimals, units).prop_map(|(delimiter, decimal, units)| Writing {
        delimiter,
        decimal,
        units,
    })
}

/// Values as recordings have them, any doubles among them, and gaps.
fn value() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => -3000.0..3000.0f64,
        2 => (-4_000_000i32..4_000_000).prop_map(|v| f64::from(v) / 1000.0),
        1 => prop::num::f64::NORMAL,
        1 => Just(f64::NAN),
    ]
}

fn recording() -> impl Strategy<Value = Recording> {
    let rates = prop::sample::select(vec![50.0, 100.0, 120.0, 240.0, 600.0, 1000.0, 1080.0, 2000.0, 59.94]);
    let starts = prop::sample::select(vec![0.0, 0.01, -0.5, 12.25]);
    let words = prop::collection::btree_set("[A-Z][a-z]{0,3}[ _;,.|\"]?[0-9]{0,2}[xyz]", 1..6);
    let units = prop::sample::select(vec!["N", "Nm", "N\u{b7}m", "mm", "V"]);
    (rates, starts, words, 3..40usize).prop_flat_map(move |(rate_hz, start_s, labels, rows)| {
        let labels: Vec<String> = labels.into_iter().collect();
        let width = labels.len();
        let columns = prop::collection::vec(prop::collection::vec(value(), rows), width);
        let units = prop::collection::vec(units.clone(), width);
        (Just(labels), columns, units).prop_map(move |(labels, columns, units)| {
            let channels = labels
                .into_iter()
                .zip(columns)
                .zip(units)
                .map(|((label, samples), unit)| Channel {
                    label,
                    unit: unit.into(),
                    samples,
                    ..Channel::default()
                })
                .collect();
            Recording { analog: Analog { rate_hz, start_s, channels }, ..Recording::default() }
        })
    })
}

/// Distinct labels even when case is ignored; the reader numbers others.
fn distinct(recording: &Recording) -> bool {
    let mut labels: Vec<_> = recording.analog.channels.iter().map(|c| c.label.to_lowercase()).collect();
    labels.sort();
    labels.windows(2).all(|w| w[0] != w[1])
}

proptest! {
    #[test]
    fn what_is_written_is_read_back(recording in recording(), how in writings()) {
        prop_assume!(distinct(&recording));
        let text = encode(&recording, &how);
        let back = decode("t", &text, None);
        let shown = || String::from_utf8_lossy(&text).into_owned();
        let back = back.map_err(|e| TestCaseError::fail(format!("{e}\n{}", shown())))?.value;
        prop_assert_eq!(back.analog.rate_hz, recording.analog.rate_hz, "{}", shown());
        prop_assert_eq!(back.analog.start_s, recording.analog.start_s);
        prop_assert_eq!(back.analog.channels.len(), recording.analog.channels.len(), "{}", shown());
        for (got, want) in back.analog.channels.iter().zip(&recording.analog.channels) {
            prop_assert_eq!(&got.label, &want.label, "{}", shown());
            prop_assert_eq!(&got.unit, &want.unit, "{}", shown());
            prop_assert_eq!(got.samples.len(), want.samples.len());
            for (g, w) in got.samples.iter().zip(&want.samples) {
                prop_assert!(g.to_bits() == w.to_bits() || (g.is_nan() && w.is_nan()), "{} {}", g, w);
            }
        }
    }

    #[test]
    fn any_bytes_return(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        let _ = decode("t", &bytes, None);
    }

    #[test]
    fn any_text_of_numbers_and_marks_returns(text in "[0-9,;.\t \n\r\"|eE#+a-]{0,400}") {
        if let Ok(table) = decode("t", text.as_bytes(), None) {
            let rows = table.value.analog.len();
            prop_assert!(table.value.analog.channels.iter().all(|c| c.samples.len() == rows));
        }
    }

    #[test]
    fn any_cut_returns_and_keeps_whole_rows(recording in recording(), how in writings(), cut in 0.0..1.0f64) {
        let text = encode(&recording, &how);
        let text = &text[..(text.len() as f64 * cut) as usize];
        if let Ok(table) = decode("t", text, None) {
            let rows = table.value.analog.len();
            prop_assert!(table.value.analog.channels.iter().all(|c| c.samples.len() == rows));
            prop_assert!(rows <= recording.analog.len() + 2);
        }
    }
}
