use super::*;

/// A lap of `count` fields with runs of bad ones: first field and length.
fn lap(count: usize, runs: &[(usize, usize)]) -> FlownLap {
    let mut fields = vec![Field::Good; count];
    for &(first, length) in runs {
        (first..first + length).for_each(|index| fields[index % count] = Field::Bad);
    }
    let margin = |field: &Field| if *field == Field::Good { 3.0 } else { -2.0 };
    let margins: Vec<f64> = fields.iter().map(margin).collect();
    FlownLap { fields, picture_margins: margins.clone(), margins, freezes: false, under: 0.1 }
}

fn tally(laps: &[FlownLap]) -> Tally {
    let mut tally = Tally::of(laps[0].fields.len());
    laps.iter().for_each(|lap| tally.count(lap));
    tally
}

#[test]
fn ten_bad_fields_in_a_row_are_a_breakup_and_nine_are_not() {
    assert_eq!(tally(&[lap(100, &[(20, 9)])]).breakups, 0);
    assert_eq!(tally(&[lap(100, &[(20, 10)])]).breakups, 1);
    assert_eq!(tally(&[lap(100, &[(20, 10), (31, 10), (50, 9)])]).breakups, 2);
}

#[test]
fn a_breakup_over_the_end_of_the_lap_is_one() {
    let tally = tally(&[lap(100, &[(94, 12)])]);
    assert_eq!(tally.breakups, 1);
    assert_eq!(tally.middles.iter().position(|&count| count > 0), Some(0));
    assert_eq!(tally.broken.iter().sum::<u64>(), 12);
    let said = tally.breakups((0..100).map(f64::from).collect(), FIELD, 0.9, 1);
    assert_eq!(said.places, [BreakupPlace { start_m: 94.0, end_m: 5.0, per_lap: 1.0 }]);
}

#[test]
fn a_lap_without_a_good_field_is_one_breakup_all_round() {
    let tally = tally(&[lap(40, &[(7, 40)])]);
    assert_eq!((tally.breakups, tally.broken.iter().sum::<u64>()), (1, 40));
}

#[test]
fn places_are_told_apart_and_the_most_frequent_comes_first() {
    let tally = tally(&[lap(100, &[(10, 10)]), lap(100, &[(12, 10), (60, 11)]), lap(100, &[]), lap(100, &[(11, 3)])]);
    let said = tally.breakups((0..100).map(f64::from).collect(), FIELD, 0.9, 1);
    assert_eq!(said.per_lap, 0.75);
    assert_eq!(
        said.places,
        [
            BreakupPlace { start_m: 10.0, end_m: 21.0, per_lap: 0.5 },
            BreakupPlace { start_m: 60.0, end_m: 70.0, per_lap: 0.25 },
        ]
    );
    assert!((said.lost_share - 34.0 / 400.0).abs() < 1e-15);
    assert!((said.picture_share - 366.0 / 400.0).abs() < 1e-15);
    // 34 of 400 fields may be lost and six more; the next has 3 dB.
    assert!(said.reserve_db > 3.0 && said.reserve_db < 3.01);
    assert!(said.reserve_low_db < 0.0 && said.reserve_high_db < 3.51);
    assert_eq!(said.field_bad[12], 0.75);
    assert_eq!(said.field_in_breakup[12], 0.5);
}

#[test]
fn a_digital_picture_stands_where_it_is_lost_and_after() {
    let mut lap = lap(100, &[(10, 1)]);
    (11..36).for_each(|index| lap.fields[index] = Field::Frozen);
    lap.freezes = true;
    let tally = tally(&[lap]);
    assert_eq!((tally.breakups, tally.lost.iter().sum::<u64>(), tally.frozen.iter().sum::<u64>()), (1, 1, 26));
}

#[test]
fn tallies_add_up_in_any_order() {
    let laps = [lap(60, &[(3, 12)]), lap(60, &[(50, 20), (20, 10)]), lap(60, &[])];
    let (mut forward, mut backward) = (tally(&laps[..1]), tally(&laps[2..]));
    forward.add(&tally(&laps[1..]));
    backward.add(&tally(&laps[1..2]));
    backward.add(&tally(&laps[..1]));
    assert_eq!(forward, backward);
    assert_eq!(forward, tally(&laps));
    assert_eq!(forward.squares, 5);
}

#[test]
fn numbers_are_said_with_the_digits_they_deserve() {
    for (number, said) in
        [(0.0, "0"), (0.0015, "0.002"), (0.047, "0.05"), (0.3, "0.3"), (0.0999, "0.1"), (9.94, "9.9"), (12.3, "12")]
    {
        assert_eq!(number_words(number), said);
    }
}
