//! What is printed of boxes.

use super::*;
use crate::bands::Accept;
use crate::demo::demo_project;

/// Made up: two buttons and a rest.
fn built() -> BuiltBoxes {
    let rung = |rung, ignored, misread, misread_as: &[(usize, u64)]| BuiltRung {
        rung,
        accept: Some(Accept { low_count: 60, high_count: 138 }),
        ignored,
        misread,
        misread_as: misread_as.to_vec(),
        histogram: vec![0; 4],
        axis_count: (50.0, 150.0),
        worst_count: (55.2, 171.9),
        rss_count: (61.0, 120.0),
    };
    BuiltBoxes {
        boxes: 1_000_000,
        seed: 7,
        basis: Basis::Planned,
        misreading_boxes: 3,
        ignoring_boxes: 446,
        buttons: vec![rung(Rung::Button(0), 446, 0, &[]), rung(Rung::Button(1), 0, 3, &[(0, 1), (2, 2)])],
        rests: vec![BuiltRung { accept: None, ..rung(Rung::Rest(1), 0, 0, &[]) }],
    }
}

#[test]
fn json_has_exactly_the_promised_keys() {
    let json = serde_json::to_string(&report(&demo_project(), &built())).unwrap();
    assert_eq!(
        json,
        r#"{"boxes":1000000,"misreading_boxes":3,"per_button":[{"id":"volume_up","ignored":446,"misread":0,"as":{}},{"id":"volume_down","ignored":0,"misread":3,"as":{"next":2,"volume_up":1}}]}"#
    );
}

#[test]
fn people_get_a_line_per_rung_with_worst_case_and_root_sum_square_beside() {
    assert_eq!(
        text(&demo_project(), &built()),
        "             accepts      worst case   root sum sq.    ignored  misread\n\
         Volume up    60 to 138    55 to 171    61 to 120           446  0\n\
         Volume down  60 to 138    55 to 171    61 to 120             0  3 as Next (2), Volume up (1)\n\
         rest         -            55 to 171    61 to 120             0  0\n\
         Of 1000000 boxes, seed 7, 3 ever misread a button and 446 ever ignore one, in any of cold, 25 °C and \
         hot, new and worn.\n\
         Not all is learned yet: all tolerances count, around what the meter shows."
    );
}
