//! Outage of a fading channel.

use crate::reference_table::{check, check_printed, read};
use lapmargin::rf::fading::{Branch, Surroundings, fade_margin, fast_selection_outage, rice_availability, rice_outage};
use lapmargin::units::Db;

#[test]
fn every_row_of_the_table() {
    let table = read("rice_outage.csv", include_str!("reference/rice_outage.csv"));
    check(&table, 174, |row, found| {
        let branch = |k: &str, margin: &str| Branch { k: Db(row.number(k)).ratio(), margin: Db(row.number(margin)) };
        let (first, second) = (branch("k1_db", "margin1_db"), branch("k2_db", "margin2_db"));
        // The table has twelve digits.
        for (branch, column) in [(first, "outage1"), (second, "outage2")] {
            let expected = row.number(column);
            let tolerance = if expected > 1e-20 { 1e-11 } else { 1e-8 };
            found.relative(column, rice_outage(branch.k, branch.margin), expected, tolerance);
            found.near("complement", rice_availability(branch.k, branch.margin), 1.0 - expected, 1e-11);
        }
        let expected = row.number("outage_selection");
        let tolerance = if expected > 1e-40 { 2e-11 } else { 1e-8 };
        found.relative("selection", fast_selection_outage(&[first, second]), expected, tolerance);
    });
}

#[test]
fn outages_and_margins_at_printed_factors() {
    // Computed three ways (noncentral chi-square, Rice distribution, quadrature): outage for 3, 5, 10, 15, 20 dB, and the
    // margin for 10, 1 and 0.1 %.
    let none = f64::NEG_INFINITY;
    let printed = [
        (none, [3.941890e-1, 2.711066e-1, 9.516258e-2, 3.112801e-2, 9.950166e-3], [9.773, 19.978, 29.998]),
        (0.0, [3.464781e-1, 2.263675e-1, 7.334639e-2, 2.325914e-2, 7.357345e-3], [8.643, 18.667, 28.667]),
        (3.0, [2.912568e-1, 1.719846e-1, 4.620699e-2, 1.346761e-2, 4.132998e-3], [7.032, 16.246, 26.115]),
        (6.0, [2.142163e-1, 1.007863e-1, 1.646472e-2, 3.641018e-3, 9.991359e-4], [5.021, 11.546, 19.996]),
        (10.0, [9.984995e-2, 2.381349e-2, 7.387041e-4, 5.166765e-5, 7.790937e-6], [2.998, 6.184, 9.520]),
        (15.0, [1.048879e-2, 2.388745e-4, 1.850590e-8, 1.467090e-11, 1.336316e-13], [1.573, 3.027, 4.268]),
    ];
    check_printed("Rice", &printed, |&(k_db, outages, margins), found| {
        let k = Db(k_db).ratio();
        for (margin, outage) in [3.0, 5.0, 10.0, 15.0, 20.0].into_iter().zip(outages) {
            found.relative("outage", rice_outage(k, Db(margin)), outage, 5e-7);
        }
        for (outage, margin) in [0.1, 0.01, 0.001].into_iter().zip(margins) {
            found.near("margin", fade_margin(k, outage).0, margin, 5.1e-4);
        }
    });
}

#[test]
fn two_equal_branches() {
    // Computed as the square: K, margin, outage of both.
    let printed = [(f64::NEG_INFINITY, 10.0, 9.056e-3), (6.0, 10.0, 2.711e-4), (10.0, 5.0, 5.671e-4)];
    check_printed("selection", &printed, |&(k_db, margin, outage), found| {
        let branch = Branch { k: Db(k_db).ratio(), margin: Db(margin) };
        found.relative("outage", fast_selection_outage(&[branch, branch]), outage, 2e-4);
    });
}

#[test]
fn the_outage_has_no_step_where_its_methods_meet() {
    // Along the margin for many factors, across every seam: neighbouring values differ as the density says, no more.
    for tenth_db in -100..500 {
        let k = Db(f64::from(tenth_db) * 0.1).ratio();
        let mut before = rice_outage(k, Db(-6.0));
        for step in 1..600 {
            let now = rice_outage(k, Db(f64::from(step) * 0.05 - 6.0));
            assert!(now <= before * (1.0 + 1e-11), "K {k} step {step}: {before} {now}");
            if before > 1e-12 {
                // The relative slope is at most that of the exponent: d(√x-√y)²/dM plus the prefactor's.
                let slope = 0.05 * (2.0 + 3.0 * k.sqrt() + k) * std::f64::consts::LN_10 / 10.0;
                assert!(now >= before * libm::exp(-2.0 * slope), "K {k} step {step}: {before} {now}");
            }
            before = now;
        }
    }
}

#[test]
fn the_classes_of_surroundings() {
    // 3GPP TR 38.901, table 7.5-6, line-of-sight columns: mean and spread of K, mean XPR, shadowing, dB. The open field is
    // common practice.
    use Surroundings::{Hall, MetalHall, OpenField, StreetOrSquare, TallBlocks, Village};
    let printed = [
        (StreetOrSquare, 9.0, Some(5.0), 9.0, 4.0),
        (TallBlocks, 9.0, Some(3.5), 8.0, 4.0),
        (Hall, 7.0, Some(4.0), 11.0, 3.0),
        (MetalHall, 7.0, Some(8.0), 12.0, 4.0),
        (Village, 7.0, Some(4.0), 12.0, 4.0),
        (OpenField, 15.0, None, 12.0, 2.0),
    ];
    assert_eq!(printed.len(), Surroundings::ALL.len());
    check_printed("surroundings", &printed, |&(class, k, spread, xpr, shadowing), found| {
        found.near("K", class.k().0, k, 0.0);
        found.near("XPR", class.xpr().0, xpr, 0.0);
        found.near("shadowing", class.shadowing_sigma().0, shadowing, 0.0);
        if let Some(spread) = spread {
            found.near("spread of K", class.k_sigma().0, spread, 0.0);
        }
    });
}
