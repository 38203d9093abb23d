//! A plan carried in an address: `#view=desk&plan=…`.
//!
//! The value of `plan` is a letter that names the form, then the plan's text without spaces: packed (raw deflate with
//! [`WORDS`] as its preset dictionary), with a check value behind it, and written in URL-safe letters
//! ([`packing`](crate::packing)). Only the part of an address behind `#` is used, which browsers do not send to any host.
//!
//! Form `2` is written. Form `1` is still read: it had other words and no check value.

use super::check::quoted;
use super::document::Plan;
use super::limits;
use super::load::{self, LoadError};
use crate::packing::{UnpackError, check, letters, pack, unpack};

/// Names the form of the value that is written. Other words, or another packing, need another letter.
const FORM: char = '2';
/// The form of the first links.
const FIRST_FORM: char = '1';

/// What plans are likely to say, known to both sides; what is most likely stands last. It is a part of the form: links that
/// people have kept rest on every byte of it. Measured on the demo, new plans with one to eight entries, and plans with every
/// kind of obstacle and kit: their links
/// have two thirds of the length that the words of the first form gave them, and the demo's has the same.
pub(crate) const WORDS: &[u8] = include_bytes!("plan_link/words_2.txt");
/// The words of [`FIRST_FORM`].
const FIRST_WORDS: &[u8] = include_bytes!("plan_link/words_1.txt");

/// Why a plan and a link do not come together.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PlanLinkError {
    /// More characters than [`limits::LINK_CHARACTERS`].
    #[error("a plan link of {characters} characters is too long: allowed are at most {}", limits::LINK_CHARACTERS)]
    TooLong {
        /// How many it has, or would have.
        characters: usize,
    },
    /// The value begins with the letter of no form, or is empty.
    #[error("this is not a plan link, or it was made by a newer version")]
    OtherForm,
    /// A character that no plan link has.
    #[error(
        "the plan link holds the character {}, which no plan link has; perhaps more was copied than the link",
        quoted(found.encode_utf8(&mut [0; 4]))
    )]
    Character {
        /// The first such character.
        found: char,
    },
    /// The check value is another one: a letter was lost, changed or added.
    #[error("the plan link is damaged: letters were lost or changed on the way; copy the whole link again")]
    Damaged,
    /// The letters unpack to no text.
    #[error("the plan link cannot be read: {0}")]
    Packed(#[from] UnpackError),
    /// There is a text, and it is no plan. It stays with whoever asked.
    #[error("the plan link holds no plan that can be used: {reason}")]
    Plan {
        /// Why.
        reason: LoadError,
        /// The text.
        text: String,
    },
}

/// The value of `plan` for a plan; a plan with problems is written too, but [`read`] refuses it.
///
/// # Errors
/// [`PlanLinkError::TooLong`]; such a plan travels as a file.
pub fn write(plan: &Plan) -> Result<String, PlanLinkError> {
    let packed = check::signed(pack::packed(load::compact(plan).as_bytes(), WORDS));
    let mut value = letters::written(&packed);
    value.insert(0, FORM);
    if value.len() > limits::LINK_CHARACTERS {
        return Err(PlanLinkError::TooLong { characters: value.len() });
    }
    Ok(value)
}

/// The plan that a value of `plan` carries, free of problems.
///
/// # Errors
/// The first reason, in the order of [`PlanLinkError`]'s kinds.
pub fn read(value: &str) -> Result<Plan, PlanLinkError> {
    if value.len() > limits::LINK_CHARACTERS {
        return Err(PlanLinkError::TooLong { characters: value.chars().count() });
    }
    let mut rest = value.chars();
    let (words, is_checked) = match rest.next() {
        Some(FORM) => (WORDS, true),
        Some(FIRST_FORM) => (FIRST_WORDS, false),
        _ => return Err(PlanLinkError::OtherForm),
    };
    let bytes = letters::read(rest.as_str()).map_err(|found| PlanLinkError::Character { found })?;
    let packed = if is_checked { check::verified(&bytes).ok_or(PlanLinkError::Damaged)? } else { &bytes };
    let text = unpack::unpacked(packed, words, limits::TEXT_BYTES)?;
    let text = String::from_utf8(text).map_err(|_| UnpackError::Damaged)?;
    load::load(&text).map_err(|reason| PlanLinkError::Plan { reason, text })
}

/// The value of `key` in the part of an address behind `#`, or in that part alone: `#view=desk&plan=…`.
pub fn carried<'a>(address: &'a str, key: &str) -> Option<&'a str> {
    address.split(['#', '&']).find_map(|pair| pair.strip_prefix(key)?.strip_prefix('='))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo;
    use crate::plan::document::{AntennaKind, PacePlan, Picture, ReceiverNoise};
    use crate::plan::edit::{Edit, apply};
    use crate::plan::fresh::{self, Kind, NewSite};
    use crate::plan::part::PlacedPart;
    use crate::plan::presets::ANTENNA_KINDS;
    use crate::rf::fading::Surroundings;
    use crate::rf::feed::FeedLine;
    use crate::rf::material::Material;
    use std::collections::BTreeSet;

    fn site() -> NewSite {
        NewSite {
            name: "Behind the barn".to_owned(),
            width_m: 40.0,
            depth_m: 25.0,
            surroundings: Surroundings::Village,
            ground: Material::MediumDryGround,
        }
    }

    /// A new plan with so many pilots, each with a seat and goggles of their own.
    fn pilots(count: usize) -> Plan {
        let mut plan = fresh::plan(&site()).unwrap();
        for number in 2..=count {
            let (mut seat, mut receiver) = (plan.seats[0].clone(), plan.receivers[0].clone());
            let mut entry = plan.entries[0].clone();
            (seat.id, seat.name) = (format!("seat-{number}"), format!("Seat {number}"));
            seat.x_m += 1.5 * number as f64;
            (receiver.id, receiver.seat) = (format!("goggles-{number}"), seat.id.clone());
            (entry.id, entry.name) = (format!("entry-{number}"), format!("Entry {number}"));
            entry.receiver.clone_from(&receiver.id);
            entry.channel_hz = 5.621e9 + 37e6 * number as f64;
            plan.seats.push(seat);
            plan.receivers.push(receiver);
            plan.entries.push(entry);
        }
        plan
    }

    /// A new plan with a part of every kind.
    fn parts() -> Plan {
        Kind::ALL.iter().fold(pilots(2), |plan, kind| {
            let north = if matches!(kind, Kind::Gate | Kind::Seat) { 5.0 } else { 20.0 };
            let place = [6.0 + 3.0 * plan.site.obstacles.len() as f64, north];
            apply(&plan, &Edit::Add(fresh::part(&plan, *kind, place, None))).unwrap()
        })
    }

    #[test]
    fn plans_come_back_from_short_links() {
        let plain = [(1, 70), (2, 90), (4, 200), (8, 400)].map(|(count, most)| (pilots(count), most));
        // The words of a barrier came after the dictionary.
        for (plan, most) in plain.into_iter().chain([(demo(), 1300), (parts(), 240)]) {
            let value = write(&plan).unwrap();
            assert!(value.len() < most, "{}: {}", plan.name, value.len());
            assert_eq!(read(&value), Ok(plan));
        }
    }

    /// A code on the sheet holds an address of 700 characters: see `address::CODE_CHARACTERS` of the page.
    #[test]
    fn a_yard_with_four_pilots_fits_on_a_sheets_code() {
        let site = NewSite { width_m: 30.0, depth_m: 20.0, ..site() };
        let mut plan = fresh::plan_for(&site, 4).unwrap();
        let mut put = |edit: Edit| plan = apply(&plan, &edit).unwrap_or_else(|problem| panic!("{problem}"));
        let empty = fresh::plan(&site).unwrap();
        let mut count = 0;
        for (kind, place, other) in [
            (Kind::Building, [0.52, 16.47], Some([12.03, 19.55])),
            (Kind::Building, [25.03, 12.96], Some([29.48, 19.51])),
            (Kind::Stall, [7.03, 11.02], None),
            (Kind::Stall, [15.04, 10.53], None),
            (Kind::Stall, [18.97, 12.51], None),
            (Kind::Crowd, [1.02, 0.47], Some([7.96, 2.49])),
        ] {
            let mut new = fresh::part(&empty, kind, place, other);
            if let PlacedPart::Obstacle(index, obstacle) = &mut new {
                count += 1;
                (*index, obstacle.id, obstacle.name) = (count, format!("part-{count}"), format!("Part {count}"));
            }
            put(Edit::Add(new));
        }
        for (index, [x_m, y_m]) in
            [[8.03, 6.02], [22.97, 5.48], [27.02, 9.53], [22.04, 15.47], [13.98, 14.52], [3.01, 12.03]]
                .into_iter()
                .enumerate()
        {
            let mut gate = empty.course.gates[0].clone();
            (gate.x_m, gate.y_m, gate.heading_deg) = (x_m, y_m, 53.0 * index as f64);
            (gate.id, gate.name) = (format!("gate-{}", index + 1), format!("Gate {}", index + 1));
            let gate = PlacedPart::Gate(index, gate);
            put(if index < 2 { Edit::Part(gate) } else { Edit::Add(gate) });
        }
        let value = write(&plan).unwrap();
        // What stands before it in an address: a host's name, a folder, the view.
        let before = "https://club.races.example/planning/lapmargin/#view=desk&plan=".len();
        assert!(before + value.len() <= 700, "{}", value.len());
        assert_eq!(read(&value), Ok(plan));
    }

    #[test]
    fn links_that_people_have_kept_are_still_read() {
        // Written when their form was made. If this fails, links that stand in old messages are dead: a change of the words
        // or of the packing needs another form beside these.
        for (kept, name) in [
            (include_str!("plan_link/kept_1.txt"), "A kept link"),
            (include_str!("plan_link/kept_2.txt"), "A kept link of the second form"),
        ] {
            assert_eq!(read(kept.trim()).map(|plan| plan.name), Ok(name.to_owned()));
        }
    }

    #[test]
    fn the_words_occur_in_plans() {
        let quoted = |text: &str| -> BTreeSet<String> {
            text.split('"').skip(1).step_by(2).filter(|word| !word.is_empty()).map(str::to_owned).collect()
        };
        let mut full = parts();
        (full.site.k_db, full.site.xpr_db, full.site.shadowing_db) = (Some(8.0), Some(8.0), Some(4.0));
        full.course.pace = PacePlan::LapTime { lap_time_s: 20.0 };
        full.receivers[0].picture = Picture::Digital { bandwidth_hz: 2e7, required_cn_db: Some(8.0), freeze_s: 0.3 };
        full.receivers[0].noise = ReceiverNoise::Sensitivity { level_dbm: -90.0 };
        full.receivers[0].ports[0].antenna.table = Some(Vec::new());
        full.note = "more".to_owned();
        let mut occur = quoted(&load::compact(&full));
        occur.extend(quoted(&load::compact(&demo())));
        let lists = [
            serde_json::to_string(&Material::ALL),
            serde_json::to_string(&Surroundings::ALL),
            serde_json::to_string(&FeedLine::ALL),
            serde_json::to_string::<[AntennaKind]>(&ANTENNA_KINDS),
        ];
        lists.into_iter().for_each(|list| occur.extend(quoted(&list.unwrap())));
        occur.extend(["standing", "fast"].map(str::to_owned));
        let words = quoted(std::str::from_utf8(WORDS).unwrap());
        let is_name =
            |word: &&String| word.starts_with(|letter: char| letter.is_ascii_lowercase()) && !word.contains('-');
        let strange: Vec<&String> = words.iter().filter(is_name).filter(|word| !occur.contains(*word)).collect();
        assert_eq!(strange, [""; 0]);
        assert!(words.len() > 100, "{}", words.len());
    }

    /// Of 1,500 letters changed in links of the first form, 117 opened as another plan.
    #[test]
    fn no_damage_to_a_link_opens_as_another_plan() {
        const LETTERS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
        // A linear congruential generator; its upper bits are random enough to choose letters.
        let mut seed = 7_u64;
        let mut below = |most: usize| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (seed >> 33) as usize % most
        };
        let (mut refused, mut same) = (0, 0);
        for plan in [demo(), pilots(4), parts()] {
            let value = write(&plan).unwrap();
            for _ in 0..1500 {
                let mut damaged = value.clone().into_bytes();
                match below(4) {
                    0 => drop(damaged.remove(below(damaged.len()))),
                    1 => damaged.insert(below(damaged.len()), LETTERS[below(64)]),
                    2 => {
                        let at = below(damaged.len() - 1);
                        damaged.swap(at, at + 1);
                    }
                    _ => {
                        let at = below(damaged.len());
                        damaged[at] = LETTERS[below(64)];
                    }
                }
                match read(std::str::from_utf8(&damaged).unwrap()) {
                    // The letter was replaced by itself, or differs in bits that fill no byte.
                    Ok(read) => {
                        assert_eq!(read, plan);
                        same += 1;
                    }
                    Err(_) => refused += 1,
                }
            }
            // Every place, the letter of the form included, with every letter.
            for at in (0..value.len()).step_by(7).chain([value.len() - 1]) {
                for letter in LETTERS {
                    let mut damaged = value.clone().into_bytes();
                    damaged[at] = *letter;
                    if let Ok(read) = read(std::str::from_utf8(&damaged).unwrap()) {
                        assert_eq!(read, plan, "letter {at}");
                    }
                }
            }
        }
        assert!(refused > 4300 && same < 200, "{refused} refused, {same} the same");
    }

    #[test]
    fn a_value_stands_behind_its_key_wherever_that_is() {
        for address in ["#view=desk&plan=1abc", "#plan=1abc", "plan=1abc&view=desk", "https://a.example/#b/#plan=1abc"]
        {
            assert_eq!(carried(address, "plan"), Some("1abc"), "{address}");
        }
        for address in ["", "#", "#plan", "#view=plan", "#aplan=1abc", "https://a.example/?plan=1abc"] {
            assert_eq!(carried(address, "plan"), None, "{address}");
        }
    }

    /// A text as a link of the written form.
    fn linked(text: &[u8]) -> String {
        format!("{FORM}{}", letters::written(&check::signed(pack::packed(text, WORDS))))
    }

    #[test]
    fn what_is_wrong_with_a_link_is_said() {
        let value = write(&demo()).unwrap();
        let said = |value: &str| read(value).unwrap_err().to_string();
        for other in ["", "3abc", "garbage", "\u{fc}"] {
            assert_eq!(read(other), Err(PlanLinkError::OtherForm), "{other}");
        }
        assert_eq!(said("garbage"), "this is not a plan link, or it was made by a newer version");
        assert_eq!(read(&format!("{value}.")), Err(PlanLinkError::Character { found: '.' }));
        assert_eq!(read(&value[..value.len() / 2]), Err(PlanLinkError::Damaged));
        assert_eq!(read(&format!("{value}{value}")), Err(PlanLinkError::Damaged));
        assert!(said(&"x".repeat(limits::LINK_CHARACTERS + 1)).contains("at most 64000"));
        let first = include_str!("plan_link/kept_1.txt").trim();
        assert_eq!(read(&first[..first.len() / 2]), Err(UnpackError::CutShort.into()));
        assert_eq!(read(&format!("{first}{first}")), Err(UnpackError::Damaged.into()));
        let newer = load::compact(&demo()).replace("\"version\":1", "\"version\":99");
        let Err(PlanLinkError::Plan { reason, text }) = read(&linked(newer.as_bytes())) else {
            panic!("a newer version was read")
        };
        assert_eq!((reason, text), (LoadError::OtherVersion { version: 99 }, newer));
    }

    #[test]
    fn a_bomb_is_refused() {
        // A thousand zeros for every byte: the link is within its limit, what it unpacks to is not.
        let value = linked(&vec![b'0'; 2 * limits::TEXT_BYTES]);
        assert!(value.len() < limits::LINK_CHARACTERS, "{}", value.len());
        assert_eq!(read(&value), Err(UnpackError::TooLarge { most: limits::TEXT_BYTES }.into()));
    }
}
