//! Tables as exports write them: every layout that the guesser must see through, by hand.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // in tests, that is how to fail
use formats::table::{Column, Decimal, Delimiter, TableError, TableLayout, decode, sniff, understand};
use mechanics::Recording;

/// Reads and gives the recording and the names of its findings.
fn read(text: impl AsRef<[u8]>) -> (Recording, Vec<&'static str>) {
    read_as(text, &TableLayout::default())
}

fn read_as(text: impl AsRef<[u8]>, layout: &TableLayout) -> (Recording, Vec<&'static str>) {
    let checked = decode("t.csv", text.as_ref(), Some(layout)).unwrap_or_else(|e| panic!("{e}"));
    let names = checked.findings.iter().map(|f| f.kind.name).collect();
    (checked.value, names)
}

fn column<'a>(recording: &'a Recording, label: &str) -> &'a [f64] {
    let labels: Vec<_> = recording.analog.channels.iter().map(|c| &c.label).collect();
    let index = recording.analog.find(label).unwrap_or_else(|| panic!("no {label} in {labels:?}"));
    &recording.analog.channels[index].samples
}

fn units(recording: &Recording) -> Vec<&str> {
    recording.analog.channels.iter().map(|c| c.unit.as_str()).collect()
}

/// The same little recording in many clothes gives the same columns.
#[test]
fn every_delimiter_decimal_and_unit_layout_reads_the_same() {
    let tables = [
        "time,Fz,Mx\ns,N,Nm\n0.00,700.5,-1.25\n0.01,701.5,-1.50\n0.02,702.5,-1.75\n",
        "time;Fz;Mx\ns;N;Nm\n0,00;700,5;-1,25\n0,01;701,5;-1,50\n0,02;702,5;-1,75\n",
        "time\tFz\tMx\ns\tN\tNm\n0,00\t700,5\t-1,25\n0,01\t701,5\t-1,50\n0,02\t702,5\t-1,75",
        "time[s]\tFz[N]\tMx[Nm]\r\n0.00\t700.5\t-1.25\r\n0.01\t701.5\t-1.50\r\n0.02\t702.5\t-1.75\r\n",
        "time (s), Fz (N), Mx (Nm)\n0.00, 700.5, -1.25\n0.01, 701.5, -1.50\n0.02, 702.5, -1.75\n\n\n",
        "time_s|Fz_N|Mx_Nm\r0.00|700.5|-1.25\r0.01|701.5|-1.50\r0.02|702.5|-1.75\r",
        "  time[s]   Fz[N]   Mx[Nm]\n   0.00   700.5   -1.25\n   0.01   701.5   -1.50\n   0.02   702.5   -1.75  \n",
        "# time[s] Fz[N] Mx[Nm]\n0.00 700.5 -1.25\n0.01 701.5 -1.50\n0.02 702.5 -1.75\n",
        "\"time\",\"Fz\",\"Mx\"\n\"s\",\"N\",\"Nm\"\n\"0.00\",\"700.5\",\"-1.25\"\n\"0.01\",\"701.5\",\"-1.50\"\n\"0.02\",\"702.5\",\"-1.75\"\n",
        "\u{feff}time,Fz,Mx,\ns,N,Nm,\n0.00,700.5,-1.25,\n0.01,701.5,-1.50,\n0.02,702.5,-1.75,\n",
        "Export of a trial\nPlayer;invented\n\nsep=;\ntime;Fz;Mx\n[s];[N];[Nm]\n0.00;700.5;\u{2212}1.25\n0.01;701.5;\u{2212}1.50\n0.02;702.5;\u{2212}1.75\nend of file\n",
        "Fz[N],Mx[Nm],time[ms]\n700.5,-1.25,0\n701.5,-1.5,10\n702.5,-1.75,20\n",
    ];
    for text in tables {
        let (recording, _) = read(text);
        assert_eq!(column(&recording, "fz"), [700.5, 701.5, 702.5], "{text}");
        assert_eq!(column(&recording, "Mx"), [-1.25, -1.5, -1.75], "{text}");
        assert_eq!(units(&recording), ["N", "Nm"], "{text}");
        assert_eq!(recording.analog.rate_hz, 100.0, "{text}");
        assert_eq!(recording.analog.start_s, 0.0, "{text}");
    }
}

#[test]
fn utf16_and_latin1_read_as_utf8_does() {
    let text = "time;Kr\u{e4}fte [N];Moment [N\u{b7}m]\n0,0;1,5;2\n0,1;2,5;3\n0,2;3,5;4\n";
    let (want, _) = read(text);
    assert_eq!(want.analog.channels[0].label, "Kr\u{e4}fte");
    let le: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let be: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
    let latin: Vec<u8> = text.chars().map(|c| c as u8).collect();
    let marked = |mark: &[u8], rest: &[u8]| [mark, rest].concat();
    for bytes in [le.clone(), be.clone(), marked(&[0xFF, 0xFE], &le), marked(&[0xFE, 0xFF], &be), latin] {
        let (got, _) = read(&bytes);
        assert_eq!(got.analog, want.analog);
    }
}

#[test]
fn gaps_are_counted_and_placed() {
    let (recording, findings) = read("time,a,b\n0,1,2\n0.1,,NaN\n0.2,-,4\n0.3,x,5\n0.4,6\n");
    assert_eq!(findings, ["table-gap"]);
    let a = column(&recording, "a");
    assert_eq!(a[0], 1.0);
    assert!(a[1].is_nan() && a[2].is_nan() && a[3].is_nan());
    assert_eq!(a[4], 6.0);
    assert!(column(&recording, "b")[4].is_nan());
    let checked = decode("t", b"time,a,b\n0,1,2\n0.1,,NaN\n0.2,-,4\n0.3,x,5\n0.4,6\n", None).unwrap();
    assert_eq!(checked.findings[0].seen, "5 cells in 2 columns; the first on line 3, column \"a\"");
}

#[test]
fn a_row_cut_at_the_end_is_left_out_and_said() {
    let (recording, findings) = read("time,a,b\n0,1,2\n0.1,3,4\n0.2,5");
    assert_eq!(column(&recording, "a"), [1.0, 3.0]);
    assert_eq!(findings, ["file-truncated"]);
}

#[test]
fn tables_without_names_count_their_columns() {
    let (recording, findings) = read("0.000 10 20\n0.002 11 21\n0.004 12 22\n");
    assert_eq!(recording.analog.rate_hz, 500.0);
    assert_eq!(column(&recording, "column 2"), [10.0, 11.0, 12.0]);
    assert_eq!(findings, [""; 0]);
    // Whole numbers that rise may be a count, so no time is taken from them.
    let (recording, findings) = read("0;10,5\n1;11,5\n2;12,5\n");
    assert_eq!(column(&recording, "column 1"), [0.0, 1.0, 2.0]);
    assert!(recording.analog.rate_hz.is_nan());
    assert_eq!(findings, ["rate-missing"]);
}

#[test]
fn rate_comes_from_the_layout_or_from_the_preamble() {
    let layout = TableLayout { rate_hz: Some(1200.0), ..TableLayout::default() };
    let (recording, findings) = read_as("Fx,Fz\n1,2\n3,4\n", &layout);
    assert_eq!((recording.analog.rate_hz, findings.len()), (1200.0, 0));
    let (recording, findings) = read("Sampling rate: 1000 Hz\n\nFx,Fz\n1,2\n3,4\n");
    assert_eq!((recording.analog.rate_hz, findings), (1000.0, vec!["rate-from-preamble"]));
    let (recording, findings) = read_as("time,Fz\n0,1\n0.01,2\n0.02,3\n", &layout);
    assert_eq!((recording.analog.rate_hz, findings), (1200.0, vec!["rig-contradicts-file"]));
}

/// Printed times are rounded: at 120 Hz with three decimals the median step is 8 ms, which would say 125 Hz.
#[test]
fn rate_is_the_true_one_through_rounded_times() {
    for rate in [59.94, 100.0, 120.0, 240.0, 300.0, 999.0, 1000.0, 1080.0, 2000.0, 44.1] {
        for (decimals, seconds) in [(3, 8.0), (4, 4.0), (6, 2.0), (9, 0.5)] {
            if rate > 900.0 && decimals < 4 {
                continue;
            }
            let rows = (seconds * rate) as usize;
            let mut text = String::from("time\tFz\n");
            for i in 0..rows {
                text += &format!("{:.decimals$}\t{i}\n", 12.5 + i as f64 / rate);
            }
            let (recording, findings) = read(&text);
            let allowed = if decimals == 3 { 2e-4 } else { 1e-9 };
            let got = recording.analog.rate_hz;
            assert!((got / rate - 1.0).abs() <= allowed, "{rate} Hz, {decimals} decimals: {got}");
            assert_eq!(recording.analog.start_s, 12.5);
            assert_eq!(findings, [""; 0], "{rate} Hz, {decimals} decimals");
        }
    }
}

#[test]
fn dropped_samples_are_found_with_their_line() {
    let mut text = String::from("time,Fz\ns,N\n");
    for i in (0..200).filter(|i| !(50..53).contains(i)) {
        text += &format!("{:.3},{i}\n", f64::from(i) * 0.001);
    }
    let checked = decode("t", text.as_bytes(), None).unwrap();
    assert_eq!(checked.value.analog.rate_hz, 1000.0);
    let finding = &checked.findings[0];
    assert_eq!(finding.kind.name, "time-not-uniform");
    // Row 0 is line 3, so the row after the hole (the 51st) is line 53.
    assert!(finding.seen.starts_with("line 53: the time goes from 0.049 to 0.053 s"), "{}", finding.seen);
    let (from, to) = finding.span_s.unwrap();
    assert!((from - 0.049).abs() < 1e-12 && (to - 0.053).abs() < 1e-12);
}

#[test]
fn milliseconds_without_a_unit_are_assumed_and_said() {
    let (recording, findings) = read("Time;Fz\n0;1\n1;2\n2;3\n3;4\n");
    assert_eq!((recording.analog.rate_hz, findings), (1000.0, vec!["units-assumed"]));
}

#[test]
fn repeated_names_are_numbered() {
    let (recording, findings) = read("time,Fz,Fz,fz#2\n0,1,2,3\n0.1,1,2,3\n");
    let labels: Vec<_> = recording.analog.channels.iter().map(|c| c.label.as_str()).collect();
    assert_eq!(labels, ["Fz", "Fz#3", "fz#2"]);
    assert_eq!(findings, ["duplicate-label"]);
}

/// Spreadsheets break names inside quotes; lines are still counted as an editor shows them.
#[test]
fn line_ends_inside_quotes_do_not_end_the_row() {
    let text = "\"time\n[s]\",\"Fz\r\n[N]\",note\n0,1,\"two\nlines\"\n0.1,-,9\n0.2,3,9\n";
    let checked = decode("t", text.as_bytes(), None).unwrap();
    assert_eq!(column(&checked.value, "Fz")[2], 3.0);
    assert_eq!(units(&checked.value), ["N", ""]);
    // The names take lines 1 to 3, the first row 4 and 5.
    assert_eq!(checked.findings[0].seen, "2 cells in 2 columns; the first on line 4, column \"note\"");
    let text = text.replace("\"two\nlines\"", "\"8\n\"");
    let checked = decode("t", text.as_bytes(), None).unwrap();
    assert_eq!(checked.findings[0].seen, "2 cells in 2 columns; the first on line 4, column \"note\"");
    let text =
        text.replace("\"8\n\"", "8").replace("0.1,-,9", "0.1,\"a\nb\",9").replace("0.2,3,9", "0.2,3,9,7");
    let error = decode("t", text.as_bytes(), None).unwrap_err();
    assert!(matches!(error, TableError::Ragged { line: 7, cells: 4, .. }), "{error}");
}

/// One column with decimal commas looks like two columns of whole numbers; the name tells.
#[test]
fn the_names_settle_what_the_numbers_leave_open() {
    let (recording, _) = read("Fz[N]\n1,5\n2,5\n3,5\n");
    assert_eq!(column(&recording, "Fz"), [1.5, 2.5, 3.5]);
    let (recording, _) = read("Fx[N],Fz[N]\n1,5\n2,5\n3,5\n");
    assert_eq!(column(&recording, "Fz"), [5.0, 5.0, 5.0]);
}

#[test]
fn layout_is_obeyed() {
    let layout = TableLayout {
        header_line: Some(2),
        delimiter: Some(Delimiter::Semicolon),
        decimal: Some(Decimal::Comma),
        time: Some(Column::Name("clock [ms]".into())),
        time_unit: Some("ms".into()),
        ..TableLayout::default()
    };
    let (recording, _) = read_as("1;2;3\n4;clock;6\n1,5;10;2\n2,5;15;3\n", &layout);
    assert_eq!(column(&recording, "4"), [1.5, 2.5]);
    assert_eq!(recording.analog.rate_hz, 200.0);
    let none = TableLayout { time: Some(Column::Number(0)), rate_hz: Some(10.0), ..TableLayout::default() };
    let (recording, _) = read_as("time,Fz\n0,1\n0.01,2\n", &none);
    assert_eq!(column(&recording, "time"), [0.0, 0.01]);
}

#[test]
fn errors_say_where_and_what_to_do() {
    let fail = |text: &[u8], layout: TableLayout| decode("t", text, Some(&layout)).unwrap_err();
    let plain = TableLayout::default;
    assert_eq!(fail(b"", plain()), TableError::Empty);
    assert_eq!(fail(b"\n \n", plain()), TableError::Empty);
    assert_eq!(fail(b"ab\0\x01\x02c", plain()), TableError::Binary { offset: 2 });
    assert_eq!(fail(b"only words\nhere\n", plain()), TableError::NoNumbers { lines: 2 });
    assert_eq!(
        fail(b"time,Fz\n0,1\n0.1,2\n0.2,3,4\n", plain()),
        TableError::Ragged { line: 4, cells: 3, columns: 2, last: "Fz".into() }
    );
    let layout = TableLayout { time: Some(Column::Name("tmie".into())), ..plain() };
    let error = fail(b"time,Fz\n0,1\n", layout);
    assert_eq!(
        error.to_string(),
        "there is no time column \"tmie\"; did you mean \"time\"?; the columns are: \"time\", \"Fz\""
    );
    let layout = TableLayout { header_line: Some(9), ..plain() };
    assert!(matches!(fail(b"time,Fz\n0,1\n", layout), TableError::HeaderLine { line: 9, .. }));
    let layout = TableLayout { time_unit: Some("h".into()), ..plain() };
    assert_eq!(fail(b"time,Fz\n0,1\n0.1,2\n", layout), TableError::TimeUnit { unit: "h".into() });
    let layout = TableLayout { rate_hz: Some(-1.0), ..plain() };
    assert_eq!(fail(b"time,Fz\n0,1\n", layout), TableError::Rate { rate_hz: -1.0 });
}

/// A file made so that each short line would become a wide row of gaps is refused, not stored.
#[test]
fn short_rows_cannot_blow_up_memory() {
    let mut text = String::from("0");
    text += &",1".repeat(199);
    text += "\n";
    text = text.repeat(510);
    text += &"1\n".repeat(400_000);
    assert!(matches!(decode("t", text.as_bytes(), None), Err(TableError::RowsMissing { .. })));
}

#[test]
fn sniffing_gives_a_reason() {
    let sniffed = sniff(b"time,Fz\n0,1\n0.1,2\n");
    assert!(sniffed.is_table);
    assert_eq!(sniffed.reason, "text with 2 columns of numbers from line 2, comma-separated");
    assert!(!sniff(b"\x02\x50\x00\x00").is_table);
    let shape = understand(b"note\ntime,Fz\ns,N\n0,1\n", None).unwrap();
    assert_eq!((shape.header_line, shape.unit_row, shape.first_line), (2, true, 4));
    assert_eq!(shape.preamble, ["note"]);
}
