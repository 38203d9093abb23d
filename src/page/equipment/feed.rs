//! A feed line: the cable, its length, its connectors.

use yew::prelude::*;

use crate::fields::{ChoiceField, NumberField};
use crate::format::Measure;
use crate::plan::document::Feed;
use crate::plan::limits;
use crate::rf::feed::FeedLine;
use crate::wording;

/// The fields of a feed line.
pub fn fields(id: &str, feed: &Feed, on_change: &Callback<Feed>) -> Html {
    let on_line = {
        let (feed, on_change) = (feed.clone(), on_change.clone());
        Callback::from(move |index: usize| {
            if let Some(line) = FeedLine::ALL.get(index) {
                on_change.emit(Feed { line: *line, ..feed.clone() });
            }
        })
    };
    let on_length = {
        let (feed, on_change) = (feed.clone(), on_change.clone());
        Callback::from(move |length: Option<f64>| {
            on_change.emit(Feed { length_m: length.unwrap_or(feed.length_m), ..feed.clone() });
        })
    };
    let on_connectors = {
        let (feed, on_change) = (feed.clone(), on_change.clone());
        Callback::from(move |count: Option<f64>| {
            // The field lets only whole numbers within the limits through.
            let connectors = count.map_or(feed.connectors, |count| count as u8);
            on_change.emit(Feed { connectors, ..feed.clone() });
        })
    };
    let options: Vec<AttrValue> = FeedLine::ALL.iter().map(|line| AttrValue::from(wording::feed_line(*line))).collect();
    html! {
        <>
            <ChoiceField id={format!("{id}-line")} label="Feed line" {options}
                chosen={FeedLine::ALL.iter().position(|line| *line == feed.line)} on_choose={on_line} />
            <NumberField id={format!("{id}-length")} label="Its length" measure={Measure::Length}
                value={Some(feed.length_m)} range={limits::FEED_LENGTH_M} on_commit={on_length}
                hint="0 for an antenna straight on its connector." />
            <NumberField id={format!("{id}-connectors")} label="Pairs of connectors" measure={Measure::Count}
                value={Some(f64::from(feed.connectors))} range={limits::CONNECTORS} on_commit={on_connectors} />
        </>
    }
}
