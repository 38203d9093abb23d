use super::*;
use crate::rf::fading::field::Motion;

fn channel(k: f64, margin: f64, periods: f64) -> Channel {
    let mean = Db(margin).ratio();
    Channel::of_one_wave(mean * k / (k + 1.0), mean / (k + 1.0), Motion { periods, shift: 0.0 })
}

fn still(k: f64, margins: &[f64]) -> Fading {
    let mut fading = Fading::new(Selection::Slow, 1, Seconds(10.0), Seconds(0.0));
    for &margin in margins {
        fading.push(&channel(k, margin, 0.0));
        fading.end_sample(&CrowdCases::ONE, 1.0 / margins.len() as f64);
    }
    fading
}

#[test]
fn where_nothing_moves_the_reserve_of_a_rayleigh_link_is_margin_less_the_textbook_fade_margin() {
    // docs/model.md section 7: Rayleigh, 1 % outage at a margin of 19.978 dB.
    let reserve = still(0.0, &[30.0; 7]).reserve(0.99);
    assert!((reserve.0 - (30.0 - 19.978)).abs() < 0.02, "{reserve}");
}

#[test]
fn a_drop_by_the_reserve_meets_the_target() {
    for margins in [vec![3.0, 25.0, 40.0], vec![-60.0, -10.0], vec![90.0; 4], vec![12.0, 12.5, 60.0, -3.0]] {
        for k in [0.0, 1.0, 31.6, 1e4] {
            for target in [0.5, 0.99, 0.999] {
                let fading = still(k, &margins);
                let reserve = fading.reserve(target);
                let share = |more: f64| 1.0 - fading.lost_share(Db(reserve.0 + more));
                assert!(
                    share(0.01) <= target + 1e-4 && target - 1e-4 <= share(-0.01),
                    "{margins:?} K {k}: {} to {} about {target} at {reserve}",
                    share(0.01),
                    share(-0.01)
                );
            }
        }
    }
}

#[test]
fn cases_beyond_those_that_are_kept_prepared_are_like_them() {
    let ports = 3;
    let sample = |fading: &mut Fading, margin: f64| {
        (0..ports).for_each(|port| fading.push(&channel(0.5, margin + f64::from(port), 0.7)));
        fading.end_sample(&CrowdCases::ONE, 1e-3);
    };
    let margins = || (0..PREPARED / 2).map(|number| 5.0 + (number % 40) as f64);
    let empty = || Fading::new(Selection::Slow, ports as usize, Seconds(10.0), Seconds(0.0));
    let mut long = empty();
    margins().for_each(|margin| sample(&mut long, margin));
    assert!(long.prepared.len() <= PREPARED && !long.bare.is_empty());
    for (place, margin) in margins().enumerate().step_by(997) {
        let mut alone = empty();
        sample(&mut alone, margin);
        assert_eq!(long.loss(place, Db(3.0)), alone.loss(0, Db(3.0)));
        let mut shares = [Vec::new(), Vec::new()];
        let both = [long.loss_of_ports(place, &mut shares[0]), alone.loss_of_ports(0, &mut shares[1])];
        assert_eq!((both[0], &shares[0]), (both[1], &shares[1]));
    }
}

#[test]
fn two_branches_are_out_together_less_often_than_one() {
    let mut both = Fading::new(Selection::Fast, 2, Seconds(10.0), Seconds(0.0));
    both.push(&channel(0.0, 10.0, 0.0));
    both.push(&channel(0.0, 10.0, 0.0));
    both.end_sample(&CrowdCases::ONE, 1.0);
    // docs/model.md section 7: two equal Rayleigh branches at 10 dB: 9.056e-3.
    let loss = both.loss(0, Db(0.0));
    assert!((loss.under - 9.056e-3).abs() < 5e-5, "{loss:?}");
}

#[test]
fn cases_average_in_losses_not_in_decibels() {
    let mut fading = Fading::new(Selection::Slow, 1, Seconds(10.0), Seconds(0.0));
    fading.push(&channel(1e6, 20.0, 1.0));
    fading.push(&channel(1e6, -20.0, 1.0));
    // Half of the draws each.
    let mut halves = CrowdCases::none();
    [6, 8].into_iter().for_each(|end| halves.push(end));
    fading.end_sample(&halves, 1.0);
    assert!((fading.lost_share(Db(0.0)) - 0.5).abs() < 1e-9);
}

#[test]
fn a_slow_receiver_is_out_with_the_port_that_it_listens_to() {
    let of = |margins: &[f64]| {
        let mut fading = Fading::new(Selection::Slow, margins.len(), Seconds(10.0), Seconds(0.0));
        margins.iter().for_each(|&margin| fading.push(&channel(3.0, margin, 4.0)));
        fading.end_sample(&CrowdCases::ONE, 1.0);
        fading.loss(0, Db(0.0)).lost
    };
    let (good, poor) = (of(&[6.0]), of(&[0.0]));
    assert!(of(&[6.0, -10.0]) < 1.01 * good + 1e-9);
    let even = of(&[6.0, 6.0]);
    assert!((even - good).abs() < 1e-12);
    // Nothing jumps while one port is lowered under the other.
    let mut last = of(&[6.0, 0.0]);
    for step in 1..=120 {
        let now = of(&[6.0, 0.1 * f64::from(step)]);
        assert!((now - last).abs() < 0.05 * poor, "at {step}");
        last = now;
    }
}

#[test]
fn a_picture_that_stands_still_is_lost_for_longer() {
    let of = |frozen: f64| {
        let mut fading = Fading::new(Selection::Slow, 1, Seconds(4.0), Seconds(frozen));
        for _ in 0..200 {
            fading.push(&channel(3.0, 6.0, 4.0));
            fading.end_sample(&CrowdCases::ONE, 1.0 / 200.0);
        }
        (fading.loss(0, Db(0.0)).lost, fading.lost_share(Db(0.0)))
    };
    let (lost, share) = of(0.0);
    assert!((lost - share).abs() < 1e-12 && lost > 1e-3);
    // Eleven fields in a row without a loss, each by itself.
    let expected = 1.0 - libm::pow(1.0 - lost, 11.0);
    let (_, share) = of(0.2);
    assert!((share - expected).abs() < 1e-6 * expected, "{share} instead of {expected}");
}
