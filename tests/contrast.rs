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

/// Relative luminance of `#rrggbb`.
fn luminance(colour: &str) -> f64 {
    let channel = |from: usize| {
        let share = f64::from(u8::from_str_radix(&colour[from..from + 2], 16).expect("two hexadecimal digits")) / 255.0;
        if share <= 0.04045 { share / 12.92 } else { libm::pow((share + 0.055) / 1.055, 2.4) }
    };
    0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
}

fn contrast(one: &str, other: &str) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
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
            for ink in ["ink-soft", "accent", "clear", "thin", "broken"] {
                check(theme, &tokens, ink, ground, least);
            }
            (0..8).for_each(|entry| check(theme, &tokens, &format!("entry-{entry}"), ground, least));
        }
        for verdict in ["clear", "thin", "broken"] {
            check(theme, &tokens, verdict, &format!("{verdict}-wash"), least);
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
