//! Screens and several edges against printed numbers and exact integrals.

use crate::reference_table::check_printed;
use lapmargin::rf::SPEED_OF_LIGHT;
use lapmargin::rf::diffraction::{
    ProfileEdge, cascade_loss, knife_edge_loss, nu_from_height, screen_loss, second_edge_excess, two_edges_dominant,
    two_edges_similar,
};
use lapmargin::units::Metres;

const WAVELENGTH: Metres = Metres(SPEED_OF_LIGHT / 5.8e9);

/// A level ray's loss around a rectangle with edges in metres from where the ray crosses its plane.
fn rectangle(z: [f64; 2], x: [f64; 2], d1: f64, d2: f64, wavelength: Metres) -> f64 {
    let nu = |offset: f64| nu_from_height(Metres(offset), Metres(d1), Metres(d2), wavelength);
    screen_loss(nu(x[0]), nu(x[1]), nu(z[0]), nu(z[1])).0
}

#[test]
fn rectangles_across_a_ray() {
    // ITU-R P.526-16, section 5.2, computed at 5.8 GHz; within 0.02 dB of a two-dimensional Kirchhoff integral.
    let printed = [
        ([-1.2, 0.5], [-0.15, 0.15], 5.0, 45.0, 4.312),
        ([-1.5, 0.2], [-0.15, 0.15], 25.0, 25.0, 1.185),
        ([-1.2, 1.8], [-3.0, 3.0], 25.0, 25.0, 19.579),
        ([-1.0, 0.4], [-2.4, 2.4], 10.0, 40.0, 9.482),
    ];
    check_printed("screens", &printed, |&(z, x, d1, d2, expected), found| {
        found.near("loss", rectangle(z, x, d1, d2, WAVELENGTH), expected, 5.1e-4);
    });
}

#[test]
fn a_person_as_a_rectangle() {
    // Same source: 0.3 m by 1.7 m on the ground; carrier, distances, height of the ray, shift.
    let printed = [
        (5.8e9, 25.0, 25.0, 1.0, 0.0, 2.651),
        (5.8e9, 25.0, 25.0, 1.5, 0.0, 1.185),
        (5.8e9, 25.0, 25.0, 1.9, 0.0, 1.112),
        (5.8e9, 5.0, 45.0, 1.0, 0.0, 2.387),
        (5.8e9, 5.0, 45.0, 1.5, 0.0, 1.720),
        (5.8e9, 5.0, 45.0, 1.9, 0.0, 1.543),
        (5.8e9, 1.0, 49.0, 1.0, 0.0, 9.133),
        (5.8e9, 1.0, 49.0, 1.5, 0.0, 4.302),
        (5.8e9, 1.0, 49.0, 1.9, 0.0, -1.513),
        (2.44e9, 5.0, 45.0, 1.5, 0.0, 0.866),
        (5.8e9, 5.0, 45.0, 1.2, 0.0, 4.312),
        (5.8e9, 5.0, 45.0, 1.2, 0.2, 7.758),
        (5.8e9, 5.0, 45.0, 1.2, 0.5, -2.084),
        (5.8e9, 5.0, 45.0, 1.2, 1.0, -0.951),
    ];
    check_printed("person", &printed, |&(carrier, d1, d2, height, shift, expected), found| {
        let got =
            rectangle([-height, 1.7 - height], [shift - 0.15, shift + 0.15], d1, d2, Metres(SPEED_OF_LIGHT / carrier));
        found.near("loss", got, expected, 5.1e-4);
    });
}

#[test]
fn two_edges_in_both_forms() {
    // ITU-R P.526-16, section 4.3, computed at 5.8 GHz: spans, heights; form (i) with its parts; form (ii) with its
    // correction; the exact double integral.
    let printed = [
        ([10.0, 10.0, 30.0], [1.0, 1.0], [16.219, 10.828, 2.041, 29.089], [29.415, 1.231], 28.273),
        ([10.0, 20.0, 20.0], [1.5, 1.2], [21.368, 13.163, 0.792, 35.323], [36.267, 0.122], 35.198),
        ([20.0, 5.0, 25.0], [1.0, 1.0], [11.250, 10.351, 4.771, 26.373], [24.734, 3.797], 23.917),
        ([15.0, 2.0, 33.0], [1.5, 1.5], [12.755, 9.370, 7.745, 29.871], [27.535, 3.904], 27.403),
        ([10.0, 30.0, 10.0], [2.0, 2.0], [23.501, 23.501, 0.280, 47.283], [47.949, 1.254], 47.508),
        ([10.0, 10.0, 30.0], [0.4, 0.4], [10.738, 8.001, 2.041, 20.780], [19.026, 2.101], 18.215),
        ([10.0, 20.0, 20.0], [0.0, 0.0], [6.033, 6.033, 0.792, 12.858], [10.047, 2.019], 9.981),
    ];
    check_printed("two edges", &printed, |&(spans, heights, similar, dominant, exact), found| {
        let ([a, b, c], heights) = (spans.map(Metres), heights.map(Metres));
        let got = two_edges_similar(a, b, c, heights, WAVELENGTH);
        for ((what, got), expected) in
            [("L1", got.first), ("L2", got.second), ("Lc", got.spread), ("form (i)", got.total())]
                .into_iter()
                .zip(similar)
        {
            found.near(what, got.0, expected, 6e-4);
        }
        let got = two_edges_dominant(a, b, c, heights, WAVELENGTH);
        found.near("form (ii)", got.total().0, dominant[0], 6e-4);
        found.near("Tc", got.correction.0, dominant[1], 6e-4);
        found.near("form (ii) beside the integral", got.total().0, exact, 1.2);

        // The engine's own use: exact single losses with the excess.
        let nu = |height: Metres, d1: Metres, d2: Metres| nu_from_height(height, d1, d2, WAVELENGTH);
        let main = nu(heights[0], a, b + c).max(nu(heights[1], a + b, c));
        let total = knife_edge_loss(main).0 + second_edge_excess(a, b, c, heights, WAVELENGTH).0;
        found.near("excess beside the integral", total, exact, 1.2);
        let edges =
            [ProfileEdge { distance: a, height: heights[0] }, ProfileEdge { distance: a + b, height: heights[1] }];
        found.near("cascade of two", cascade_loss(a + b + c, &edges, WAVELENGTH).0, total, 1e-9);
    });
}

#[test]
fn two_grazing_edges_are_known_exactly() {
    // 20 log(2 / (1 - α/π)), tan α = √(b(a+b+c)/(ac)): the closed form behind the correction.
    for [a, b, c] in [[10.0_f64, 20.0, 20.0], [5.0, 1.0, 44.0], [20.0, 10.0, 20.0]] {
        let alpha = libm::atan((b * (a + b + c) / (a * c)).sqrt());
        let expected = 20.0 * libm::log10(2.0 / (1.0 - alpha / std::f64::consts::PI));
        let grazing = [Metres(0.0), Metres(0.0)];
        let got = knife_edge_loss(0.0).0 + second_edge_excess(Metres(a), Metres(b), Metres(c), grazing, WAVELENGTH).0;
        assert!((got - expected).abs() < 1e-12, "{got} {expected}");
    }
}

#[test]
fn several_edges_stay_near_the_exact_integral() {
    // Computed as the Fresnel-Kirchhoff integral over the half-planes above every edge (Gauss-Legendre quadrature along
    // paths turned by 45 degrees, where the integrand only decays; numpy 2.4, two numbers of nodes agree to 1e-9 dB). The
    // same program gives the exact column of the two-edge table above. Spans, heights over the direct line, loss.
    let printed: [(&[f64], &[f64], f64); 9] = [
        (&[10.0, 10.0, 10.0, 20.0], &[1.0, 1.5, 1.0], 35.8773),
        (&[10.0, 3.0, 3.0, 34.0], &[1.0, 1.0, 1.0], 28.5883),
        (&[15.0, 2.0, 13.0, 20.0], &[1.5, 1.5, 1.0], 33.3320),
        (&[8.0, 4.0, 20.0, 18.0], &[0.5, 0.5, 0.8], 29.1422),
        (&[10.0, 10.0, 10.0, 20.0], &[0.0, 0.0, 0.0], 11.4056),
        (&[10.0, 5.0, 15.0, 5.0, 15.0], &[1.0, 1.0, 1.2, 1.2], 41.4148),
        (&[20.0, 2.0, 6.0, 2.0, 20.0], &[1.0, 1.0, 1.0, 1.0], 29.5738),
        (&[12.5, 12.5, 12.5, 12.5], &[2.0, 3.0, 2.0], 54.4500),
        (&[10.0, 10.0, 10.0, 20.0], &[0.3, 0.2, 0.3], 19.1171),
    ];
    check_printed("several edges", &printed, |&(spans, heights, exact), found| {
        let mut distance = 0.0;
        let mut edges = Vec::new();
        for (span, height) in spans.iter().zip(heights) {
            distance += span;
            edges.push(ProfileEdge { distance: Metres(distance), height: Metres(*height) });
        }
        let total = Metres(spans.iter().sum());
        // The method errs on the careful side; how far is stated in its documentation.
        found.between("cascade", cascade_loss(total, &edges, WAVELENGTH).0, exact, exact + 3.5);
    });
}
