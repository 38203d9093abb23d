//! The colours of the page are told apart by everybody: contrast as WCAG 2.2 defines it (relative luminance and contrast
//! ratio, success criteria 1.4.3, 1.4.6 and 1.4.11), between the tokens of `style/tokens.css`.

use std::collections::BTreeMap;

/// Names and values of one theme.
type Tokens = BTreeMap<String, String>;

/// The custom properties that stand in the first block that a line begins.
fn block(css: &str, begins: &str) -> Tokens {
    let inside = css.split_once(begins).expect("the block is there").1.split_once('}').expect("it ends").0;
    let lines = inside.split(';').filter_map(|line| line.rsplit_once("--").map(|(_, declared)| declared));
    lines
        .filter_map(|declared| declared.split_once(':'))
        .map(|(name, value)| (name.trim().to_owned(), value.trim().to_owned()))
        .collect()
}

/// The themes with what the inks of each have to reach.
fn themes() -> Vec<(&'static str, Tokens, f64)> {
    let css = include_str!("../style/tokens.css");
    let both = block(css, "\n:root {");
    let side = |pick: for<'a> fn((&'a str, &'a str)) -> &'a str| -> Tokens {
        let one = |value: &str| {
            let inside = value.strip_prefix("light-dark(").and_then(|rest| rest.strip_suffix(')'))?;
            Some(pick(inside.split_once(", ")?).to_owned())
        };
        both.iter().filter_map(|(name, value)| Some((name.clone(), one(value)?))).collect()
    };
    let sun = block(css, "\n[data-theme=\"sun\"] {");
    vec![("paper", side(|pair| pair.0), 4.5), ("slate", side(|pair| pair.1), 4.5), ("sun", sun, 7.0)]
}

/// The share of light of the channel that begins at a letter of `#rrggbb`.
fn linear(colour: &str, from: usize) -> f64 {
    let share = f64::from(u8::from_str_radix(&colour[from..from + 2], 16).expect("two hexadecimal digits")) / 255.0;
    if share <= 0.04045 { share / 12.92 } else { libm::pow((share + 0.055) / 1.055, 2.4) }
}

/// Relative luminance of `#rrggbb`.
fn luminance(colour: &str) -> f64 {
    0.2126 * linear(colour, 1) + 0.7152 * linear(colour, 3) + 0.0722 * linear(colour, 5)
}

fn contrast(one: &str, other: &str) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// Lightness and the two colour axes of `#rrggbb`: CIELAB under the white point D65 (CIE 15; matrix of IEC 61966-2-1).
fn lab(colour: &str) -> [f64; 3] {
    let [red, green, blue] = [1, 3, 5].map(|from| linear(colour, from));
    let shares = [
        (0.4124 * red + 0.3576 * green + 0.1805 * blue) / 0.95047,
        luminance(colour),
        (0.0193 * red + 0.1192 * green + 0.9505 * blue) / 1.08883,
    ];
    let [x, y, z] = shares
        .map(|share| if share > 216.0 / 24389.0 { libm::cbrt(share) } else { (24389.0 / 27.0 * share + 16.0) / 116.0 });
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// How far two colours lie apart, by the difference of CIE 1976.
fn difference(one: &str, other: &str) -> f64 {
    let (one, other) = (lab(one), lab(other));
    libm::sqrt((0..3).map(|axis| (one[axis] - other[axis]) * (one[axis] - other[axis])).sum())
}

#[track_caller]
fn check(theme: &str, tokens: &Tokens, ink: &str, ground: &str, least: f64) {
    let reached = contrast(&tokens[ink], &tokens[ground]);
    assert!(reached >= least, "{theme}: --{ink} on --{ground} has {reached:.2}, at least {least} is wanted");
}

#[test]
fn contrast_is_that_of_the_definition() {
    assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
    // The grey that is known to be just enough on white.
    assert!((contrast("#767676", "#ffffff") - 4.54).abs() < 0.005);
}

#[test]
fn every_ink_can_be_read_on_every_ground() {
    for (theme, tokens, least) in themes() {
        for ground in ["paper", "paper-raised", "paper-sunk", "selected"] {
            check(theme, &tokens, "ink", ground, least);
        }
        for ground in ["paper", "paper-raised", "paper-sunk"] {
            for ink in ["ink-soft", "accent", "clear", "thin", "short"] {
                check(theme, &tokens, ink, ground, least);
            }
            (0..8).for_each(|entry| check(theme, &tokens, &format!("entry-{entry}"), ground, least));
        }
        for verdict in ["clear", "thin", "short"] {
            check(theme, &tokens, verdict, &format!("{verdict}-wash"), least);
        }
    }
}

#[test]
fn differences_are_those_of_the_definition() {
    // Lightness of the middle grey, and red by its coordinates as they are commonly tabulated.
    assert!((lab("#777777")[0] - 50.03).abs() < 0.01, "{:?}", lab("#777777"));
    let red = lab("#ff0000");
    assert!((0..3).all(|axis| (red[axis] - [53.24, 80.09, 67.20][axis]).abs() < 0.05), "{red:?}");
    assert!((difference("#000000", "#ffffff") - 100.0).abs() < 0.02);
}

#[test]
fn no_entry_has_the_colour_of_a_verdict_or_of_another() {
    // A difference of 2 is just noticed side by side; apart, on thin lines, it takes some ten times that. Common practice,
    // no source.
    for (theme, tokens, _) in themes() {
        let apart = |entry: usize, other: String, least: f64| {
            let reached = difference(&tokens[&format!("entry-{entry}")], &tokens[&other]);
            assert!(reached >= least, "{theme}: --entry-{entry} and --{other} differ by {reached:.1}, not {least}");
        };
        for entry in 0..8 {
            ["clear", "thin", "short"].into_iter().for_each(|verdict| apart(entry, verdict.to_owned(), 25.0));
            (0..entry).for_each(|other| apart(entry, format!("entry-{other}"), 20.0));
        }
    }
}

#[test]
fn every_sign_can_be_seen() {
    for (theme, tokens, _) in themes() {
        for sign in ["focus", "rule-strong", "hatch", "crowd", "plants", "ghost"] {
            check(theme, &tokens, sign, "paper", 3.0);
        }
    }
}

#[test]
fn full_sun_names_every_colour() {
    let themes = themes();
    let names = |theme: usize| themes[theme].1.keys().cloned().collect::<Vec<_>>();
    let colours = |theme: usize| {
        let tokens = &themes[theme].1;
        names(theme).into_iter().filter(|name| tokens[name].starts_with('#')).collect::<Vec<_>>()
    };
    assert_eq!(colours(2), colours(0));
    assert_eq!(colours(1), colours(0));
}
