//! The page opens by itself, under its policy, on any host.

use crate::visit;
use thirtyfour::prelude::*;

#[tokio::test]
async fn the_worker_answers_without_a_complaint_or_a_foreign_request() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;

    assert_eq!(visit.console_errors().await, [""; 0]);
    let requests = visit.requests().await;
    let starts = requests.iter().filter(|address| address.contains("start.js?")).count();
    assert!(starts >= 2, "one program is started by the page and one by the worker: {requests:#?}");
    assert_eq!(visit.foreign(&requests), [""; 0]);
}

#[tokio::test]
async fn the_policy_is_in_force() {
    let Some(visit) = visit::open("").await else { return };
    let attempt = r#"
        const script = document.createElement("script");
        script.textContent = "window.inlineScriptRan = true";
        document.body.append(script);
        return window.inlineScriptRan === true;
    "#;
    let ran = visit.driver.execute(attempt, Vec::new()).await.unwrap();
    assert_eq!(ran.json(), &serde_json::Value::Bool(false));
    let complaints = visit.console_errors().await;
    assert!(complaints.iter().any(|complaint| complaint.contains("Content Security Policy")), "{complaints:?}");

    let elsewhere = r#"
        const done = arguments[0];
        fetch("http://127.0.0.2:9/").then(() => done("reached"), () => done("blocked"));
    "#;
    let outcome = visit.driver.execute_async(elsewhere, Vec::new()).await.unwrap();
    assert_eq!(outcome.json(), "blocked");
    let complaints = visit.console_errors().await;
    assert!(complaints.iter().any(|complaint| complaint.contains("connect-src")), "{complaints:?}");
}

#[tokio::test]
async fn day_and_night_have_papers_of_their_own() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;
    let mut backgrounds = Vec::new();
    for scheme in ["light", "dark"] {
        visit.prefer("prefers-color-scheme", scheme).await;
        backgrounds
            .push(visit.driver.find(By::Css("body")).await.unwrap().css_value("background-color").await.unwrap());
    }
    assert_ne!(backgrounds[0], backgrounds[1]);
}
