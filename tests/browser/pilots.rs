//! Pilots come and go on the page, with their receivers, ports and seats, by keyboard too.

use lapmargin::plan;
use thirtyfour::Key;

use crate::visit::{self, Visit};

/// Names of the pilots in the list, in order.
async fn names_are<const N: usize>(visit: &Visit, wanted: [&str; N]) {
    let names = "return [...document.querySelectorAll('.verdict-name')].map(name => name.firstChild.textContent)";
    visit.script_when(names, |seen| *seen == serde_json::json!(wanted.as_slice())).await;
}

async fn chosen_is(visit: &Visit, entry: usize) {
    visit.attribute_when(&format!("#verdict-{entry}"), "aria-pressed", |pressed| pressed == "true").await;
}

#[tokio::test]
async fn pilots_are_added_copied_moved_and_removed_and_all_of_it_is_undone() {
    let Some(visit) = visit::open("").await else { return };
    let demo = plan::demo();
    let [one, two, three, four] = [0, 1, 2, 3].map(|index| demo.entries[index].name.as_str());
    names_are(&visit, [one, two, three, four]).await;
    visit.press("#pilot-add", Key::Enter).await;
    names_are(&visit, [one, two, three, four, "Pilot 5"]).await;
    // The new one is chosen, sits on a chair, and is judged.
    chosen_is(&visit, 4).await;
    visit.attribute_when("[data-part='seat-4']", "aria-label", |label| label.starts_with("Seat 1,")).await;
    visit.text_when("#verdict-4 .verdict-word", |text| !text.is_empty()).await;
    visit.text_when("#moved", |text| text.starts_with(&format!("Pilot added with the kit of {one}"))).await;

    visit.shot("pilots").await;
    visit.press("#pilot-up", Key::Enter + Key::Enter).await;
    names_are(&visit, [one, two, "Pilot 5", three, four]).await;
    chosen_is(&visit, 2).await;
    visit.press("#pilot-copy", " ").await;
    names_are(&visit, [one, two, "Pilot 5", "Pilot 6", three, four]).await;
    visit.click("#verdict-1").await;
    visit.press("#pilot-remove", Key::Enter).await;
    names_are(&visit, [one, "Pilot 5", "Pilot 6", three, four]).await;
    visit.text_when("#moved", |text| text.contains(&format!("{two} removed, with"))).await;
    for _ in 0..5 {
        visit.click("#undo").await;
    }
    names_are(&visit, [one, two, three, four]).await;
    visit.find("#undo:disabled").await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn kit_goes_from_one_to_those_that_are_ticked() {
    let Some(visit) = visit::open("").await else { return };
    let demo = plan::demo();
    visit.text_when("#verdict-3 .verdict-word", |text| !text.is_empty()).await;
    visit.click("#kit-some summary").await;
    visit.find("#kit-copy[aria-disabled='true']").await;
    visit.click(".pilots-to label:nth-of-type(2) input").await;
    visit.click("#kit-copy").await;
    let [from, to] = [&demo.entries[0].name, &demo.entries[2].name];
    visit.text_when("#moved", |text| text.starts_with(&format!("Kit of {from} copied to {to}:"))).await;
    visit.click("#kit-all").await;
    visit.text_when("#moved", |text| text.starts_with(&format!("Kit of {from} for all:"))).await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn a_receiver_is_shared_given_back_and_gets_a_seat_of_its_own() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-3 .verdict-word", |text| !text.is_empty()).await;
    visit.click("#verdict-1").await;
    visit.click("#equipment-more > summary").await;
    visit.click("#receiver-which option:nth-of-type(1)").await;
    let unused = &plan::demo().receivers[1].name;
    visit.text_when("#receiver-drop", |text| text == format!("Remove {unused}, which nobody uses")).await;
    visit.click("#receiver-drop").await;
    visit.gone("#receiver-drop").await;
    visit.click("#receiver-own").await;
    visit.gone("#receiver-own").await;
    visit.click("#seat-new").await;
    visit.text_when("#moved", |text| text.starts_with("New seat for")).await;
    let seat = "const list = document.getElementById('receiver-seat'); return list.options[list.selectedIndex].text";
    visit.script_when(seat, |name| name == "Seat 1").await;
    let ports = "return document.querySelectorAll('.port').length";
    let before = visit.script(ports).await.as_u64().expect("a number");
    visit.click("#port-add").await;
    visit.script_when(ports, |now| *now == before + 1).await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn what_is_refused_is_said_beside_the_part() {
    let Some(visit) = visit::open("").await else { return };
    let demo = plan::demo();
    visit.page("yard").await;
    visit.press("[data-part='gate-1']", Key::Enter).await;
    visit.find("#part-east").await;
    let house = demo.site.obstacles[0].shape.centre_m();
    for (field, value) in [("#part-east", house[0]), ("#part-north", house[1])] {
        visit.type_over(field, &value.to_string()).await;
        visit.press(field, Key::Enter).await;
    }
    let said = visit.text_when(".course-refused", |text| text.contains("is inside")).await;
    assert!(said.contains(&demo.site.obstacles[0].name) && said.contains(&demo.course.gates[1].name), "{said}");
    visit.shot("refused").await;
    visit.click("#undo").await;
    visit.gone(".course-refused").await;
}
