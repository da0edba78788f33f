#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]
use super::*;

fn parse(text: &str) -> Result<Marks, String> {
    Marks::parse(Path::new("m.csv"), text.as_bytes()).map_err(|error| error.to_string())
}

fn mark(rep: u32, times_s: [f64; 4]) -> Mark {
    let [a, b, c, d] = times_s.map(Some);
    Mark {
        rep,
        lift_start_s: a,
        lift_end_s: b,
        lower_start_s: c,
        lower_end_s: d,
    }
}

const PLAIN: &str = "rep,lift_start_s,lift_end_s,lower_start_s,lower_end_s\n\
                     1,1.5,3,4,7.25\n2,8,9.5,10.5,14\n";

#[test]
fn what_is_written_reads_back() {
    let marks = parse(PLAIN).unwrap();
    assert_eq!(marks.reps()[0], mark(1, [1.5, 3.0, 4.0, 7.25]));
    assert_eq!(marks.text(), PLAIN);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("m.csv");
    marks.write(&path).unwrap();
    assert_eq!(Marks::read(&path).unwrap(), marks);
    let again = marks.write(&path).unwrap_err();
    assert!(matches!(again, RecordingError::Exists { .. }), "{again}");
    assert!(Marks::looks_like(&path));
    std::fs::write(&path, "t_s,ax_m_s2\n").unwrap();
    assert!(!Marks::looks_like(&path));
}

/// The same marks as spreadsheets write them.
#[test]
fn spreadsheets_are_read_as_they_are_meant() {
    let expected = parse(PLAIN).unwrap();
    for text in [
        "\u{feff}rep;lift_start_s;lift_end_s;lower_start_s;lower_end_s\r\n1;1,5;3;4;7,25\r\n2;8;9,5;10,5;14\r\n;;;;\r\n",
        "lower_end_s\tlower_start_s\tnote\tlift_end_s\tlift_start_s\n7.25\t4\tslow, I think\t3\t1.5\n14\t10.5\t\t9.5\t8\n",
        "rep,lift_start_s,lift_end_s,lower_start_s,lower_end_s,note\n1,\"1,5\",3,4,\"7,25\",\"two\nlines\"\n2,8,\"9,5\",\"10,5\",14\n",
        "Rep, Lift_start_s,lift_end_s ,LOWER_START_S,lower_end_s,\n1.0, 1.50 ,3.0,4,7.250,\n2,+8,9.5,10.5,14e0,",
        "rep,lift_start_s,lift_end_s,lower_start_s,lower_end_s\r1,1.5,3,4,7.25\r2,8,9.5,10.5,14\r",
    ] {
        assert_eq!(parse(text), Ok(expected.clone()), "{text:?}");
    }
}

#[test]
fn an_empty_cell_is_not_marked() {
    let text = "rep,lift_start_s,lift_end_s,lower_start_s,lower_end_s\n,,,4,7\n3,,,,\n,,9\n";
    let marks = parse(text).unwrap();
    let [first, second] = marks.reps() else {
        unreachable!("two rows hold a time")
    };
    assert_eq!(first.times_s(), [None, None, Some(4.0), Some(7.0)]);
    assert_eq!((second.rep, second.span_s()), (2, Some((9.0, 9.0))));
    assert_eq!(
        parse("lift_start_s,lift_end_s,lower_start_s,lower_end_s\n"),
        Ok(Marks::default())
    );
}

#[test]
fn each_fault_has_one_message_with_its_place() {
    let head = "rep,lift_start_s,lift_end_s,lower_start_s,lower_end_s\n";
    for (rows, expected) in [
        (
            "1,1,3,2,7",
            "line 2, column lower_start_s: 2 s lies before lift_end_s, 3 s;",
        ),
        (
            "1,5,,,4",
            "line 2, column lower_end_s: 4 s lies before lift_start_s, 5 s;",
        ),
        (
            "1,1,2,3,4\n\n2,3.5,5,6,7",
            "line 4: the repetition 2 begins at 3.5 s, before the repetition 1 ends at 4 s;",
        ),
        (
            "1,1,2,3,4\n1,5,6,7,8",
            "line 3, column rep: the repetition 1 is there twice;",
        ),
        (
            "1,1,2,3,0:04",
            "line 2, column lower_end_s: \"0:04\" is no time;",
        ),
        (
            "1,1,2,3,1.234,5",
            "line 2: the row has 6 cells, expected the 5 of the header;",
        ),
        (
            "1,1,2,3,\"1.234,5\"",
            "line 2, column lower_end_s: \"1.234,5\" is no time;",
        ),
        (
            "1,1.5,2,3,\"1,234\"",
            "line 2, column lower_end_s: \"1,234\" is written otherwise",
        ),
        (
            "1,1,2,3,inf",
            "line 2, column lower_end_s: \"inf\" is no time;",
        ),
        (
            "0,1,2,3,4",
            "line 2, column rep: \"0\" is no number of a repetition;",
        ),
        (
            "first,1,2,3,4",
            "line 2, column rep: \"first\" is no number of a repetition;",
        ),
    ] {
        let message = parse(&format!("{head}{rows}\n")).unwrap_err();
        let expected = format!("m.csv, {expected}");
        assert!(message.starts_with(&expected), "{message}\n{expected}");
        assert_eq!(message.lines().count(), 1);
    }
    for (text, expected) in [
        (
            "rep,lift_start_s\n",
            "m.csv, line 1: there is no column lift_end_s;",
        ),
        ("", "m.csv: the file is empty;"),
        ("\u{feff}\n", "m.csv: the file is empty;"),
        (
            "lift_start_s,lift_start_s,lift_end_s,lower_start_s,lower_end_s",
            "m.csv, line 1: the column lift_start_s is there 2 times;",
        ),
        (
            "PK\u{3}\u{4}",
            "m.csv, line 1: this is not plain text (it is a spreadsheet's own format",
        ),
    ] {
        let message = parse(text).unwrap_err();
        assert!(message.starts_with(expected), "{message}");
    }
}

#[test]
fn a_mark_from_elsewhere_is_held_to_the_same_rules() {
    let wrong = Marks::new(vec![mark(1, [1.0, 2.0, 3.0, f64::NAN])]);
    let column = "lower_end_s";
    assert_eq!(wrong, Err((0, MarksFault::NotFinite { column })));
    let touching = vec![mark(1, [1.0, 2.0, 3.0, 4.0]), mark(2, [4.0, 5.0, 6.0, 7.0])];
    assert!(Marks::new(touching).is_ok());
}
