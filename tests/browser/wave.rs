//! The wave, the picture and the demonstrations of the bench.

use thirtyfour::prelude::*;

use crate::visit::{self, Visit};

/// Opens the bench on its wave.
async fn bench(tail: &str) -> Option<Visit> {
    let visit = visit::open(&format!("#view=bench{tail}")).await?;
    visit.text_when("body", |text| !text.is_empty()).await;
    Some(visit)
}

async fn press(visit: &Visit, id: &str) {
    visit.press(&format!("#{id}"), Key::Enter).await;
}

/// Moves a slider as a hand does: the value, and the event that tells of it.
async fn slide(visit: &Visit, id: &str, value: f64) {
    visit.find(&format!("#{id}")).await;
    let script = format!(
        "const slider = document.getElementById('{id}'); slider.value = {value};
         slider.dispatchEvent(new Event('input', {{bubbles: true}}));"
    );
    visit.script(&script).await;
}

/// What the canvas shows, as the mean difference of neighbouring pixels in a piece of even sky: the snow.
const SNOW: &str = "const canvas = document.getElementById('picture-canvas');
    const pixels = canvas.getContext('2d').getImageData(150, 60, 30, 30).data;
    let sum = 0;
    for (let at = 4; at < pixels.length; at += 4) sum += Math.abs(pixels[at] - pixels[at - 4]);
    return sum / (pixels.length / 4);";

/// Whether the arrow head of a face goes round clockwise: the cross product of its place and its direction.
const TURNS: &str =
    "return [...document.querySelectorAll('.wave-face')].filter((face) => face.querySelector('.wave-hand'))
    .map((face) => {
      const d = face.querySelector('.wave-heads').getAttribute('d');
      const [x, y, a, b, c, e] = d.match(/-?[\\d.]+/g).map(Number);
      const turn = (x - 60) * (y - (b + e) / 2) - (y - 60) * (x - (a + c) / 2);
      return face.querySelector('.wave-hand').textContent + (turn > 0 ? ' clockwise' : ' counter-clockwise');
    });";

#[tokio::test]
async fn a_hand_is_told_by_its_arrow_and_letter_and_not_by_colour_alone() {
    let Some(visit) = bench("").await else { return };
    visit.text_when("#wave-words", |text| text.contains("right hand")).await;
    assert_eq!(visit.script(TURNS).await, serde_json::json!(["R clockwise", "R clockwise"]));
    press(&visit, "show-1").await;
    visit.text_when("#wave-words", |text| text.contains("left hand")).await;
    assert_eq!(visit.script(TURNS).await, serde_json::json!(["R clockwise", "L counter-clockwise"]));
    assert_eq!(visit.console_errors().await, Vec::<String>::new());
}

#[tokio::test]
async fn a_steep_wall_turns_the_hand_over_and_a_flat_one_does_not() {
    let Some(visit) = bench("").await else { return };
    press(&visit, "show-3").await;
    visit.text_when("#wave-words", |text| text.contains("turned over: left hand")).await;
    visit.press("#wave-wall-2", " ").await;
    visit.text_when("#wave-words", |text| text.contains("comes back turned over: left hand")).await;
    slide(&visit, "wave-grazing", 15.0).await;
    visit.text_when("#wave-words", |text| text.contains("comes back not turned over: right hand")).await;
    let turns = visit.script(TURNS).await;
    assert_eq!(turns[2], "R clockwise", "{turns}");
    // By keyboard alone: an arrow key steeper, degree by degree, over the angle where concrete changes.
    for _ in 0..15 {
        visit.press("#wave-grazing", Key::Right).await;
    }
    visit.text_when("#wave-words", |text| text.contains("comes back turned over: left hand")).await;
}

#[tokio::test]
async fn the_picture_follows_the_carrier_to_noise_ratio() {
    let Some(visit) = bench("").await else { return };
    let mut snow = Vec::new();
    for show in [0, 1] {
        press(&visit, &format!("show-{show}")).await;
        let ratio = if show == 0 { "23." } else { "5." };
        visit.text_when("#picture-caption", |text| text.contains(&format!("ratio of {ratio}"))).await;
        // Several fields, as fades come and go.
        let mut sum = 0.0;
        for _ in 0..8 {
            tokio::time::sleep(std::time::Duration::from_millis(120)).await;
            sum += visit.script(SNOW).await.as_f64().expect("a number") / 8.0;
        }
        snow.push(sum);
    }
    assert!(snow[0] > 1.0 && snow[1] > 3.0 * snow[0], "{snow:?}");
}

#[tokio::test]
async fn pausing_stops_what_moves_and_stillness_has_a_step() {
    let Some(visit) = bench("").await else { return };
    visit.text_when("#wave-pause", |text| text == "Pause").await;
    let place = "return document.getElementById('wave-field').getAttribute('d')";
    let first = visit.script(place).await;
    visit.script_when(place, |now| *now != first).await;
    press(&visit, "wave-pause").await;
    press(&visit, "picture-pause").await;
    visit.text_when("#wave-step", |text| text == "One step on").await;
    visit.text_when("#picture-step", |text| text == "One step on").await;
    // Both stay as they are over some twenty frames.
    let frames = "return new Promise((done) => { let left = 20; const next = () => left-- ? requestAnimationFrame(next) : done(
        document.getElementById('wave-field').getAttribute('d') + document.getElementById('picture-canvas').toDataURL());
        next(); })";
    let still = visit.script(frames).await;
    assert_eq!(visit.script(frames).await, still);
    press(&visit, "wave-step").await;
    let paused = visit.script(place).await;
    assert!(!still.as_str().expect("a path").starts_with(paused.as_str().expect("a path")), "a step moves on");

    visit.prefer("prefers-reduced-motion", "reduce").await;
    visit.reload().await;
    visit.text_when("#wave-pause", |text| text == "Play").await;
    visit.text_when("#picture-pause", |text| text == "Play").await;
    let still = visit.script(frames).await;
    assert_eq!(visit.script(frames).await, still, "nothing moves unasked");
    assert!(visit.script(SNOW).await.as_f64().is_some_and(|snow| snow > 0.0), "a still picture is there");
}

/// Everything with text of its own, and how large it is on the screen.
const SIZES: &str = "return [...document.querySelectorAll('#table *')].filter((element) =>
      [...element.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim()) && element.getClientRects().length)
    .map((element) => {
      const scale = element.getScreenCTM ? element.getScreenCTM().a : 1;
      return [element.className.baseVal ?? element.className, element.textContent.trim(), parseFloat(getComputedStyle(element).fontSize) * scale];
    });";

#[tokio::test]
async fn the_table_can_be_read_from_two_steps_away_and_any_key_takes_over() {
    let Some(visit) = bench("&table=1").await else { return };
    visit.view(1920, 1080).await;
    visit.text_when("#table-heading", |text| text == "Matched").await;
    let sizes = visit.script(SIZES).await;
    let sizes = sizes.as_array().expect("a list");
    let mut figures = 0;
    for size in sizes {
        let (class, pixels) = (size[0].as_str().unwrap_or_default(), size[2].as_f64().expect("a size"));
        let least = if class == "table-figure" { 48.0 } else { 24.0 };
        figures += usize::from(class == "table-figure");
        assert!(pixels >= least, "{size}");
    }
    assert!(figures == 2 && sizes.len() > 6, "{sizes:?}");
    let fits = visit.script("return document.documentElement.scrollHeight <= innerHeight").await;
    assert_eq!(fits, true, "an unattended screen does not scroll");
    visit.shot("table").await;
    visit.driver.action_chain().send_keys("x").perform().await.expect("keys can be pressed");
    visit.text_when("#show-words", |text| text.contains("Both antennas are right-handed")).await;
    visit.gone("#table").await;
    assert_eq!(visit.console_errors().await, Vec::<String>::new());
}

#[tokio::test]
async fn tilting_the_device_tilts_the_antenna() {
    let Some(visit) = bench("").await else { return };
    press(&visit, "show-4").await;
    visit.text_when("#wave-words", |text| text.contains("a line")).await;
    let held = |beta: f64, gamma: f64| serde_json::json!({"alpha": 0.0, "beta": beta, "gamma": gamma});
    // Held at ease at first, then banked: what follows are the angles of `held`, from 30 degrees of leaning on. A device
    // that is held no way at all when it is asked would be refused.
    visit.send("DeviceOrientation.setDeviceOrientationOverride", held(60.0, 0.0)).await;
    press(&visit, "tilt-device").await;
    visit.text_when("output[for='tilt-bank']", |text| text == "0°").await;
    visit.send("DeviceOrientation.setDeviceOrientationOverride", held(30.0, 40.0)).await;
    visit.text_when("output[for='tilt-bank']", |text| text == "34°").await;
    visit.text_when("output[for='tilt-back']", |text| text == "−23°").await;
    visit.text_when("#tilt-said", |text| text.contains("bank it like an aircraft")).await;
    press(&visit, "tilt-device").await;
    visit.send("DeviceOrientation.setDeviceOrientationOverride", held(90.0, 50.0)).await;
    slide(&visit, "tilt-bank", 5.0).await;
    visit.text_when("output[for='tilt-bank']", |text| text == "5°").await;
    // What slid is one step back.
    press(&visit, "undo").await;
    visit.text_when("output[for='tilt-bank']", |text| text == "65°").await;
}

/// Sixty frames a second on a machine with nothing else to do. How many it gets on this one is printed.
#[tokio::test]
#[allow(clippy::print_stdout, reason = "a measure is there to be read")]
async fn the_wave_moves_smoothly() {
    let Some(visit) = bench("").await else { return };
    press(&visit, "show-3").await;
    visit.text_when("#wave-words", |text| text.contains("turned over")).await;
    let count = "return new Promise((done) => {
        let drawn = 0, offered = 0;
        const seen = new MutationObserver(() => drawn++);
        seen.observe(document.getElementById('wave-field'), {attributes: true});
        const begun = performance.now();
        const next = () => {
          offered++;
          const passed = performance.now() - begun;
          if (passed < 3000) requestAnimationFrame(next);
          else done([1000 * drawn / passed, 1000 * offered / passed]);
        };
        requestAnimationFrame(next);
      })";
    let rates = visit.script(count).await;
    let (drawn, offered) = (rates[0].as_f64().expect("a rate"), rates[1].as_f64().expect("a rate"));
    println!("the wave moves at {drawn:.1} of {offered:.1} frames a second");
    // How many frames there are is the machine's business; none of them may be left out.
    assert!(drawn >= 0.9 * offered, "{drawn} of {offered}");
}

#[tokio::test]
async fn flying_the_lap_shows_each_pilots_picture_beside_the_course() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#fly", |text| text.contains("Play lap")).await;
    assert!(!visit.has("#pilots-pictures").await, "nobody asked for them yet");
    press(&visit, "fly").await;
    visit.text_when("#pilots-pictures", |text| text.matches("dB").count() >= 4).await;
    press(&visit, "fly").await;
    visit.text_when("#fly", |text| text.contains("Play lap")).await;
    let pictures =
        "return [...document.querySelectorAll('.pilots-picture canvas')].map((canvas) => canvas.toDataURL())";
    let halted = visit.script(pictures).await;
    let halted = halted.as_array().expect("a list").clone();
    assert_eq!(halted.len(), 4, "one for each entry");
    assert!(halted.iter().skip(1).all(|picture| *picture != halted[0]), "each with a snow of its own");
    // The cursor moves by keys, and the pictures with it.
    visit.press("[role='slider']", Key::Right).await;
    visit
        .script_when(pictures, |now| {
            now.as_array().is_some_and(|now| now.iter().zip(&halted).all(|(now, then)| now != then))
        })
        .await;
    visit.press("#fly-pictures", " ").await;
    visit.gone("#pilots-pictures").await;
    assert_eq!(visit.console_errors().await, Vec::<String>::new());
}
