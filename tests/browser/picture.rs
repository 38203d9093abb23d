//! A picture of a site plan under the drawing: taken, scaled by a known distance, kept in this browser only, taken away.

use std::path::Path;

use thirtyfour::Key;

use crate::visit::{self, Visit};

/// What this browser keeps of pictures: how they lie.
const KEPT: &str = "return new Promise(done => {
    const asked = indexedDB.open('lapmargin ' + location.pathname);
    asked.onsuccess = () => {
        const all = asked.result.transaction('pictures').objectStore('pictures').getAll();
        all.onsuccess = () => { asked.result.close(); done(all.result.map(one => one.lies).join(' ')); };
    };
})";

/// What is drawn of it: address and width.
const DRAWN: &str = "const image = document.querySelector('#course-all image');
    return image && image.getAttribute('href').slice(0, 5) + ' ' + image.getAttribute('opacity');";

/// A picture of 200 by 100 dots on the disk.
fn picture(name: &str) -> String {
    let file = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, 200, 100);
    encoder.set_color(png::ColorType::Grayscale);
    let dots: Vec<u8> = (0..200 * 100).map(|dot| if dot % 200 / 10 % 2 == dot / 2000 % 2 { 90 } else { 220 }).collect();
    encoder.write_header().expect("a header").write_image_data(&dots).expect("as many dots as it says");
    std::fs::write(&file, bytes).expect("a file can be written");
    file.to_string_lossy().into_owned()
}

/// Opens the page, and the panel of the picture, once nothing moves any more.
async fn opened() -> Option<Visit> {
    let visit = visit::open("").await?;
    visit.flown().await;
    visit.click("#picture summary").await;
    Some(visit)
}

async fn take(visit: &Visit, file: &str) {
    visit.find("#picture-file").await.send_keys(file).await.expect("the browser takes the file");
}

async fn value_when(visit: &Visit, css: &str, value: &str) {
    visit.script_when(&format!("return document.querySelector('{css}')?.value"), |found| found == value).await;
}

/// Taps a place of the demo's site, 44 by 28 metres.
async fn tap(visit: &Visit, east_m: f64, north_m: f64) {
    visit.rests(".course-border").await;
    let script = "const box = document.querySelector('.course-border').getBoundingClientRect();
        return [box.left, box.bottom, box.width, box.height];";
    let found = visit.driver.execute(script, Vec::new()).await.expect("the script runs");
    let [left, bottom, width, height] = found.convert::<[f64; 4]>().expect("a border has four numbers");
    let (x, y) = (left + east_m / 44.0 * width, bottom - north_m / 28.0 * height);
    visit.driver.action_chain().move_to(x as i64, y as i64).click().perform().await.expect("the mouse can click");
}

#[tokio::test]
async fn a_picture_is_scaled_by_a_known_distance_and_still_there_on_another_day() {
    let Some(visit) = opened().await else { return };
    take(&visit, &picture("site-plan.png")).await;
    // 44 metres wide it fits the site.
    value_when(&visit, "#picture-width", "44").await;
    visit.script_when(DRAWN, |drawn| drawn == "blob: 0.6").await;
    visit.click("#picture-mark").await;
    visit.text_when(".course-hint", |text| text.contains("distance that you know")).await;
    visit.script("document.querySelector('.course-drawing').scrollIntoView()").await;
    tap(&visit, 6.0, 10.0).await;
    tap(&visit, 16.0, 10.0).await;
    let field = visit.find("#picture-length").await;
    let marked = field.prop("value").await.expect("a field has a value").unwrap_or_default();
    let marked: f64 = marked.parse().unwrap_or_else(|_| panic!("{marked}"));
    assert!((marked - 10.0).abs() < 0.2, "to a dot of the screen: {marked}");
    visit.type_over("#picture-length", &format!("{}", 2.0 * marked)).await;
    visit.press("#picture-length", Key::Enter).await;
    // Twice as long is twice as wide; the field rounds to centimetres what it shows.
    let twice = "return Math.abs(document.querySelector('#picture-width').value - 88) < 0.2";
    visit.script_when(twice, |is_twice| is_twice == true).await;

    // The first change makes the demo a plan of this browser; the picture goes along, and is there after a new start.
    visit.press("[data-part='gate-2']", Key::Enter).await;
    visit.attribute_when("[data-part='gate-2']", "aria-pressed", |pressed| pressed == "true").await;
    visit.press("[data-part='gate-2']", Key::Right).await;
    visit.script_when(KEPT, |kept| kept.as_str().is_some_and(|kept| kept.starts_with("[200,100,8"))).await;
    visit.reload().await;
    visit.script_when(DRAWN, |drawn| drawn == "blob: 0.6").await;
    visit.click("#picture summary").await;
    visit.script_when(twice, |is_twice| is_twice == true).await;

    visit.click("#picture-show").await;
    visit.script_when(DRAWN, |drawn| drawn.is_null()).await;
    visit.click("#picture-remove").await;
    visit.script_when(KEPT, |kept| kept == "").await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn what_is_no_picture_is_refused_and_a_browser_that_keeps_none_says_so() {
    let Some(visit) = opened().await else { return };
    let text = Path::new(env!("CARGO_TARGET_TMPDIR")).join("no-picture.png");
    std::fs::write(&text, "<svg/>").expect("a file can be written");
    take(&visit, &text.to_string_lossy()).await;
    visit.text_when("#picture .field-wrong", |said| said.contains("no PNG or JPEG")).await;
    let deny = "indexedDB.open = () => { throw new Error('denied'); }; return null";
    visit.script(deny).await;
    take(&visit, &picture("denied.png")).await;
    visit.text_when("#picture .field-wrong", |said| said.contains("does not keep")).await;
    visit.script_when(DRAWN, |drawn| drawn == "blob: 0.6").await;
}

/// Gives the page a JPEG of 60 by 20 dots that is to be seen a quarter turned, with a place in its notes (Exif 2.3, orientation 6 in
/// the first directory); or half of one.
fn photograph(part: &str) -> String {
    format!(
        "return new Promise(done => {{
        const canvas = document.createElement('canvas');
        [canvas.width, canvas.height] = [60, 20];
        const ink = canvas.getContext('2d');
        ink.fillStyle = 'white'; ink.fillRect(0, 0, 60, 20);
        ink.fillStyle = 'black'; ink.fillRect(0, 0, 30, 20);
        canvas.toBlob(async blob => {{
            const bytes = new Uint8Array(await blob.arrayBuffer());
            const notes = [0x45, 0x78, 0x69, 0x66, 0, 0, 0x4d, 0x4d, 0, 42, 0, 0, 0, 8, 0, 1,
                0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 6, 0, 0, 0, 0, 0, 0, ...new TextEncoder().encode('SECRETPLACE')];
            const segment = [0xff, 0xe1, 0, notes.length + 2, ...notes];
            const whole = new Uint8Array([0xff, 0xd8, ...segment, ...bytes.slice(2)]);
            const given = new DataTransfer();
            given.items.add(new File([{part}], 'yard.jpg', {{ type: 'image/jpeg' }}));
            const input = document.querySelector('#picture-file');
            input.files = given.files;
            input.dispatchEvent(new Event('change', {{ bubbles: true }}));
            done(true);
        }}, 'image/jpeg');
    }})"
    )
}

#[tokio::test]
async fn a_photograph_lies_as_it_is_seen_and_loses_what_its_file_tells() {
    let Some(visit) = opened().await else { return };
    visit.script(&photograph("whole")).await;
    visit.script_when(DRAWN, |drawn| drawn == "blob: 0.6").await;
    // Upright, and dark at the top: a quarter turn clockwise brings the left side up.
    let seen = "return new Promise(done => {
        const image = new Image();
        image.onload = () => {
            const canvas = document.createElement('canvas');
            [canvas.width, canvas.height] = [image.naturalWidth, image.naturalHeight];
            const ink = canvas.getContext('2d', { willReadFrequently: true });
            ink.drawImage(image, 0, 0);
            const grey = y => ink.getImageData(10, y, 1, 1).data[0];
            done([image.naturalWidth, image.naturalHeight, grey(5) < 60, grey(55) > 200].join(' '));
        };
        image.src = document.querySelector('#course-all image').getAttribute('href');
    })";
    assert_eq!(visit.script(seen).await, "20 60 true true");
    let kept = "return new Promise(done => {
        const asked = indexedDB.open('lapmargin ' + location.pathname);
        asked.onsuccess = () => {
            const all = asked.result.transaction('pictures').objectStore('pictures').getAll();
            all.onsuccess = async () => {
                asked.result.close();
                const texts = await Promise.all(all.result.map(one => one.picture.text()));
                done(texts.length + ' ' + texts.some(text => /Exif|SECRETPLACE/.test(text)));
            };
        };
    })";
    visit.script_when(kept, |kept| kept == "1 false").await;
    visit.script(&photograph("whole.slice(0, 300)")).await;
    visit.text_when("#picture .field-wrong", |said| said.starts_with("Not taken")).await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}
