//! The bench in a browser: the figures that it shows are the core's, and for plain cases those of published tables.

use lapmargin::link::pair::{PairEnd, PairLink, PairObstacle, exchange, hearing, text};
use lapmargin::link::report::Term;
use lapmargin::plan::demo;
use lapmargin::plan::document::{AntennaKind, StatedHand};
use lapmargin::rf::material::Material;
use lapmargin_page::bench::figures::step_id;
use lapmargin_page::drawing::ladder_steps::shown_steps;
use lapmargin_page::format::{decibel_change, decibels, level, signed};
use thirtyfour::prelude::*;

use crate::visit::{self, Visit};

/// Two antennas face to face in empty space.
fn empty_space() -> PairLink {
    let (transmitter, receiver) = (PairEnd::default(), PairEnd::default());
    PairLink { transmitter, receiver, ground: None, surroundings: None, ..PairLink::default() }
}

async fn show(visit: &Visit, link: &PairLink) {
    // Another query makes the browser load the page anew, whatever stood there before.
    visit.go("#view=desk").await;
    visit.go(&format!("#view=bench&link={}", text::write(link))).await;
}

/// A text as the browser reads it out: it takes every space for the usual one.
fn seen(text: String) -> String {
    text.replace('\u{a0}', " ")
}

async fn text_of(visit: &Visit, css: &str) -> String {
    visit.text_when(css, |text| !text.is_empty()).await
}

/// The gain of a stage as the page shows it.
async fn step(visit: &Visit, term: Term) -> String {
    text_of(visit, &format!("#{} td.is-figure", step_id(term))).await
}

#[tokio::test(flavor = "multi_thread")]
async fn the_budget_on_the_page_is_the_cores_and_adds_up_in_tenths() {
    let Some(visit) = visit::open("").await else { return };
    read_the_budget(&visit).await;
}

/// Reads the budget of two links and adds it up.
pub async fn read_the_budget(visit: &Visit) {
    let mut walled = PairLink { obstacle: Some(PairObstacle::default()), ..PairLink::default() };
    walled.receiver.antenna.kind = AntennaKind::CircularPatch;
    walled.transmitter.antenna.hand = StatedHand::Left;
    for link in [PairLink::default(), walled] {
        show(visit, &link).await;
        let heard = hearing::hear(&link).expect("the link can be heard");
        let explained = &heard.explanation;
        let wanted = seen(decibel_change(explained.margin_db));
        visit.text_when("#bench-margin", |text| text == wanted).await;
        assert_eq!(text_of(visit, "#bench-level").await, seen(level(explained.level_dbm)));
        assert_eq!(text_of(visit, "#bench-threshold").await, seen(level(heard.threshold.0)));
        let gains: Vec<f64> = explained.budget.iter().map(|line| line.gain_db).collect();
        let steps = shown_steps(&gains, explained.level_dbm, explained.margin_db);
        let mut sum = 0;
        for (line, shown) in explained.budget.iter().zip(steps) {
            if shown.gain() != 0 {
                let on_page = step(visit, line.term).await;
                assert_eq!(on_page, signed(shown.gain() as f64 / 10.0, 1), "{:?}", line.term);
                sum += on_page.replace('−', "-").replace(['+', '.'], "").parse::<i64>().expect("tenths");
            }
        }
        assert_eq!(signed(sum as f64 / 10.0, 1), signed(explained.margin_db, 1), "the tenths add up");
        assert!(text_of(visit, "#bench-caution").await.starts_with("Keep at least"), "the antenna is near");
        assert_eq!(text_of(visit, "#figure-k").await, seen(decibels(explained.k_db)));
    }
    assert_eq!(visit.console_errors().await, Vec::<String>::new());
}

/// Check table 1 of docs/model.md: one antenna of some axial ratio, a pure circular partner of either hand.
#[tokio::test(flavor = "multi_thread")]
async fn the_polarization_loss_table_through_the_page() {
    let Some(visit) = visit::open("").await else { return };
    for (axial_ratio, same, opposite) in [(3.0, "−0.1", "−15.5"), (6.0, "−0.5", "−10.0"), (20.0, "−2.2", "−4.0")]
    {
        for (hand, loss) in [(StatedHand::Right, same), (StatedHand::Left, opposite)] {
            let mut link = empty_space();
            link.transmitter.antenna.axial_ratio_db = Some(axial_ratio);
            link.receiver.antenna.axial_ratio_db = Some(0.0);
            link.receiver.antenna.hand = hand;
            show(&visit, &link).await;
            let wanted = format!("{loss} dB");
            visit.text_when("#figure-polarization", |text| text == wanted).await;
        }
    }
    // Check table 2: axial ratios of 3 dB each leave 9.6 dB of isolation at the worst tilt.
    let mut link = empty_space();
    link.transmitter.antenna.axial_ratio_db = Some(3.0);
    link.receiver.antenna.axial_ratio_db = Some(3.0);
    link.receiver.antenna.hand = StatedHand::Left;
    show(&visit, &link).await;
    visit.text_when("#figure-spread", |text| text.ends_with("to −9.6 dB")).await;
}

/// Free space at 5800 MHz over 100 m (87.716 dB), the knife edge at ν = 1 (13.8641 dB) and Rayleigh's 10 dB for a decade, as
/// printed in docs/model.md.
#[tokio::test(flavor = "multi_thread")]
async fn free_space_knife_edge_and_rayleigh_through_the_page() {
    let Some(visit) = visit::open("").await else { return };
    show(&visit, &PairLink { distance_m: 100.0, ..empty_space() }).await;
    visit.text_when("#figure-free-space", |text| text == "87.7 dB").await;
    assert_eq!(step(&visit, Term::FreeSpace).await, "−87.7");

    let mut link = PairLink { distance_m: 50.0, ..empty_space() };
    link.transmitter.height_m = 20.0;
    link.receiver.height_m = 20.0;
    // ν = 1 half way along 50 m at 5.8 GHz: h = √(λ · 25/4).
    let over = (299_792_458.0 / 5.8e9 * 25.0 / 4.0_f64).sqrt();
    link.obstacle = Some(PairObstacle {
        distance_m: 25.0,
        width_m: 1000.0,
        height_m: 20.0 + over,
        material: Material::Metal,
        thickness_m: 0.001,
        ..PairObstacle::default()
    });
    show(&visit, &link).await;
    visit.text_when("#figure-edge", |text| text == "+1.000; 13.9 dB").await;
    // The wall has two sides far off, that change the last tenth.
    let of_wall = text_of(&visit, "#figure-obstacle").await;
    let loss: f64 = of_wall.split(' ').next().unwrap().parse().unwrap();
    assert!((loss - 13.8641).abs() < 0.11 && of_wall.ends_with("most goes over it"), "{of_wall}");

    let mut rayleigh = Vec::new();
    for row in 1..=3 {
        let css = format!("#bench-fading tbody tr:nth-child({row}) td:nth-child(3)");
        rayleigh.push(text_of(&visit, &css).await.parse::<f64>().unwrap());
    }
    assert!((rayleigh[2] - rayleigh[1] - 10.0).abs() < 0.05 + 1e-9, "{rayleigh:?}");
    assert!((rayleigh[0] - 9.8).abs() < 1e-9, "{rayleigh:?}");
}

/// A person types a distance with a decimal comma, nonsense, and takes it back, by keyboard.
#[tokio::test(flavor = "multi_thread")]
async fn typing_changes_the_link_nonsense_gets_a_sentence_and_undo_brings_it_back() {
    let Some(visit) = visit::open("#view=bench").await else { return };
    let before = text_of(&visit, "#bench-margin").await;
    visit.type_over("#bench-d", "60,5").await;
    visit.press("#bench-d", Key::Enter).await;
    let link = PairLink { distance_m: 60.5, ..PairLink::default() };
    let wanted = seen(decibel_change(hearing::hear(&link).unwrap().explanation.margin_db));
    visit.text_when("#bench-margin", |text| text == wanted).await;
    visit.script_when("return location.hash", |hash| hash.as_str() == Some("#view=bench&link=1~d:60.5")).await;
    visit.type_over("#bench-d", "far away").await;
    visit.press("#bench-d", Key::Enter).await;
    visit.text_when("#bench-d-wrong", |text| !text.is_empty()).await;
    assert_eq!(text_of(&visit, "#bench-margin").await, wanted, "the rest keeps working");
    visit.click("#undo").await;
    visit.text_when("#bench-margin", |text| text == before).await;
    // The curves' cursor goes by keys, and the numbers follow.
    let read = text_of(&visit, ".bench-slide .field-label").await;
    visit.press("#bench-cursor", Key::Right + Key::Right).await;
    visit.text_when(".bench-slide .field-label", |text| text != read).await;
    assert_eq!(visit.console_errors().await, Vec::<String>::new());
}

/// From the planner's ladder to the bench with the same instant, and an antenna back into the plan.
#[tokio::test(flavor = "multi_thread")]
async fn an_instant_goes_to_the_bench_and_an_antenna_back_into_the_plan() {
    let Some(visit) = visit::open("").await else { return };
    visit.page("link").await;
    visit.text_when("#to-bench", |text| !text.is_empty()).await;
    let href = visit.attribute_when("#to-bench", "href", |href| href.contains('=')).await;
    let sample: usize = href.rsplit('=').next().unwrap().parse().unwrap();
    visit.click("#to-bench").await;
    let taken = exchange::take(&demo(), 0, 0, sample).unwrap();
    let wanted = seen(decibel_change(hearing::hear(&taken.link).unwrap().explanation.margin_db));
    visit.text_when("#bench-margin", |text| text == wanted).await;
    visit.text_when("#bench-said", |text| text.starts_with("Taken from the lap of")).await;

    visit.type_over("#bench-transmitter-gain", "0.5").await;
    visit.press("#bench-transmitter-gain", Key::Enter).await;
    visit.text_when("#bench-margin", |text| text != wanted).await;
    visit.click("#put-transmitter").await;
    // The planner opens with the plan changed, and the demo is still in its list.
    let first = &demo().entries[0].name;
    visit.page("kit").await;
    visit.text_when(".desk-equipment h2", |text| text.contains(first.as_str())).await;
    let shown = "return document.getElementById('aircraft-gain')?.value";
    visit.script_when(shown, |value| value.as_str() == Some("0.5")).await;
    assert_eq!(visit.console_errors().await, Vec::<String>::new());
}

/// The bench writes its link into the address when it has rested. A page that is busy just then must not write it over the
/// address of the plan that is on its way to the planner.
#[tokio::test(flavor = "multi_thread")]
async fn an_antenna_put_back_at_once_is_not_lost_to_the_link_that_rests() {
    let Some(visit) = visit::open("#view=bench").await else { return };
    let before = text_of(&visit, "#bench-margin").await;
    visit.type_over("#bench-transmitter-gain", "0.5").await;
    visit.press("#bench-transmitter-gain", Key::Enter).await;
    visit.text_when("#bench-margin", |text| text != before).await;
    let busy = "for (const end = performance.now() + 600; performance.now() < end;);
        document.getElementById('put-transmitter').click();";
    visit.script(busy).await;
    let shown = "return document.getElementById('aircraft-gain')?.value";
    visit.script_when(shown, |value| value.as_str() == Some("0.5")).await;
}
