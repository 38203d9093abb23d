//! From kit as a person knows it to numbers that can be computed with.

use super::{ANALOGUE_GOOD_CN, ANALOGUE_REQUIRED_CN_DB, Assumed, COMMON_PRACTICE, DIGITAL_REQUIRED_CN_DB};
use super::{
    FRAME_LOSS_DB, NOISE_FIGURE_DB, Typical, has_hand, is_directional, kind_name, typical_antenna, typical_beamwidth,
    with_article,
};
use crate::plan::document::{AntennaKind, AntennaKit, Feed, MeasuredNumbers, Mounting, Picture, ReceiverNoise};
use crate::rf::antenna::{
    Antenna, AntennaError, AntennaModel, AxialHelix, CircularOmni, CircularPatch, HelixSize, LinearPatch, MeasuredAxis,
    MeasuredCut, MeasuredError, MeasuredPattern, MeasuredRow,
};
use crate::rf::feed::{FeedBasis, connector_pair_loss};
use crate::rf::noise;
use crate::rf::polarization::Hand;
use crate::units::{Db, Dbi, Dbm, Degrees, Hertz, Metres, Seconds};

/// How far the loss of an estimated cable may be off, as a share of it ([`FeedBasis::Estimate`]).
const ESTIMATED_FEED_SHARE: f64 = 0.2;

/// An antenna to compute with, and what had to be taken for it.
#[derive(Clone, Debug, PartialEq)]
pub struct ResolvedAntenna {
    /// The antenna.
    pub antenna: Antenna,
    /// The typical values in it.
    pub assumed: Vec<Assumed>,
    /// What does not fit together in the numbers given, in sentences.
    pub remarks: Vec<String>,
}

/// The antenna of a kit, wound with the given hand, whatever the kit says about it: for a hand that is unknown, both are
/// asked for in turn ([`crate::plan::document::StatedHand::cases`]). Linear kinds ignore the hand.
///
/// # Errors
/// A number outside what the antenna's model accepts; does not happen to a plan without problems.
pub fn resolve_antenna(kit: &AntennaKit, hand: Hand) -> Result<ResolvedAntenna, AntennaError> {
    if let Some(table) = &kit.table {
        let hand = has_hand(kit.kind).then_some(hand);
        let model = AntennaModel::Measured(MeasuredPattern { hand, cut: measured_cut(kit.kind, table)? });
        return resolved(kit.kind, model, Vec::new());
    }
    let name = with_article(kind_name(kit.kind));
    let typical = typical_antenna(kit.kind);
    let mut assumed = Vec::new();
    let mut value =
        |stated: Option<f64>, what: &str, typical: Option<Typical>, shifts_margin: bool| match (stated, typical) {
            (Some(stated), _) => stated,
            (None, Some(typical)) => {
                assumed.push(Assumed::new(format!("the {what} of {name}"), typical, shifts_margin));
                typical.value
            }
            // A kind without the number does not use it.
            (None, None) => 0.0,
        };
    let peak_gain = Dbi(value(kit.gain_dbi, "gain", Some(typical.gain_dbi), true));
    let mut ratio = || Db(value(kit.axial_ratio_db, "axial ratio", typical.axial_ratio_db, false));
    let model = match kit.kind {
        AntennaKind::Dipole => AntennaModel::HalfWaveDipole { peak_gain },
        AntennaKind::Whip => AntennaModel::ShortWhip { peak_gain },
        AntennaKind::CircularOmni => AntennaModel::CircularOmni(CircularOmni {
            hand,
            peak_gain,
            axial_ratio: ratio(),
            null_depth: Db(value(kit.rejection_db, "null overhead", typical.rejection_db, false)),
        }),
        AntennaKind::CircularPatch | AntennaKind::LinearPatch | AntennaKind::Helix => {
            let circular = matches!(kit.kind, AntennaKind::CircularPatch | AntennaKind::Helix);
            let axial_ratio = if circular { ratio() } else { Db(0.0) };
            let beamwidth = typical_beamwidth(kit.kind, peak_gain);
            let beamwidth = Degrees(value(kit.beamwidth_deg, "beamwidth", beamwidth, false));
            let front_to_back = Db(value(kit.rejection_db, "front-to-back ratio", typical.rejection_db, false));
            match kit.kind {
                AntennaKind::LinearPatch => {
                    AntennaModel::LinearPatch(LinearPatch { peak_gain, beamwidth, front_to_back })
                }
                AntennaKind::Helix => AntennaModel::AxialHelix(AxialHelix {
                    hand,
                    size: HelixSize::Stated { peak_gain, beamwidth, axial_ratio },
                    front_to_back,
                }),
                _ => AntennaModel::CircularPatch(CircularPatch {
                    hand,
                    peak_gain,
                    beamwidth,
                    axial_ratio,
                    front_to_back,
                }),
            }
        }
    };
    resolved(kit.kind, model, assumed)
}

fn resolved(kind: AntennaKind, model: AntennaModel, assumed: Vec<Assumed>) -> Result<ResolvedAntenna, AntennaError> {
    let antenna = Antenna::new(model)?;
    let remarks = antenna.caveats().iter().map(|caveat| format!("{}: {caveat}", kind_name(kind))).collect();
    Ok(ResolvedAntenna { antenna, assumed, remarks })
}

/// The curve of a measured table: about the look of a kind that looks one way, about the tip of any other.
///
/// # Errors
/// Why it is none.
pub fn measured_cut(kind: AntennaKind, table: &[MeasuredNumbers]) -> Result<MeasuredCut, MeasuredError> {
    let axis = if is_directional(kind) { MeasuredAxis::Ahead } else { MeasuredAxis::Tip };
    MeasuredCut::new(axis, &measured_rows(table))
}

/// The rows of a kit's table with their units.
pub fn measured_rows(table: &[MeasuredNumbers]) -> Vec<MeasuredRow> {
    let row = |&[angle, gain, axial_ratio]: &MeasuredNumbers| MeasuredRow {
        angle: Degrees(angle),
        gain: Dbi(gain),
        axial_ratio: Db(axial_ratio),
    };
    table.iter().map(row).collect()
}

/// A receiver to compute with, and what had to be taken for it.
#[derive(Clone, Debug, PartialEq)]
pub struct ResolvedReceiver {
    /// Level at the receiver's input below which a line or frame is lost.
    pub threshold: Dbm,
    /// Level of a good picture. A digital picture is good until it is lost, so there it is the threshold.
    pub good_threshold: Dbm,
    /// Bandwidth of the picture.
    pub bandwidth: Hertz,
    /// How long a digital picture stays frozen after a break; `None` for an analogue one.
    pub freeze: Option<Seconds>,
    /// The carrier-to-noise ratio needed.
    pub required_cn: Db,
    /// The noise figure; `None` when the sensitivity was stated instead.
    pub noise_figure: Option<Db>,
    /// The typical values in it.
    pub assumed: Vec<Assumed>,
}

/// The thresholds of a receiver: thermal noise, noise figure and required carrier-to-noise ratio, or the sensitivity as
/// stated.
pub fn resolve_receiver(picture: &Picture, noise: &ReceiverNoise) -> ResolvedReceiver {
    let (bandwidth_hz, stated_cn, freeze, typical, good_cn) = match *picture {
        Picture::Analogue { bandwidth_hz, required_cn_db } => {
            (bandwidth_hz, required_cn_db, None, ANALOGUE_REQUIRED_CN_DB, Some(ANALOGUE_GOOD_CN))
        }
        Picture::Digital { bandwidth_hz, required_cn_db, freeze_s } => {
            (bandwidth_hz, required_cn_db, Some(Seconds(freeze_s)), DIGITAL_REQUIRED_CN_DB, None)
        }
    };
    let bandwidth = Hertz(bandwidth_hz);
    let required_cn = Db(stated_cn.unwrap_or(typical.value));
    let mut assumed = Vec::new();
    let (threshold, noise_figure) = match *noise {
        ReceiverNoise::Sensitivity { level_dbm } => (Dbm(level_dbm), None),
        ReceiverNoise::NoiseFigure { noise_figure_db } => {
            if noise_figure_db.is_none() {
                assumed.push(Assumed::new("the receiver's noise figure", NOISE_FIGURE_DB, true));
            }
            if stated_cn.is_none() {
                assumed.push(Assumed::new("the carrier-to-noise ratio that the picture needs", typical, true));
            }
            let noise_figure = Db(noise_figure_db.unwrap_or(NOISE_FIGURE_DB.value));
            (noise::threshold(bandwidth, noise_figure, required_cn), Some(noise_figure))
        }
    };
    let above = good_cn.map_or(Db(0.0), |good| Db((good - required_cn).0.max(0.0)));
    let good_threshold = threshold + above;
    ResolvedReceiver { threshold, good_threshold, bandwidth, freeze, required_cn, noise_figure, assumed }
}

/// The loss through the aircraft's own frame, and whether it had to be taken as typical.
///
/// It does not widen the margin everywhere, only in the cone below the antenna's foot; so its sigma is zero.
pub fn resolve_frame_loss(mounting: &Mounting) -> (Db, Option<Assumed>) {
    match mounting.frame_loss_db {
        Some(stated) => (Db(stated), None),
        None => {
            let what = "the loss through the aircraft's own frame";
            (Db(FRAME_LOSS_DB.value), Some(Assumed::new(what, FRAME_LOSS_DB, false)))
        }
    }
}

/// Loss of a feed line with its connectors at a carrier, and how uncertain it is where the cable's numbers are estimates.
pub fn resolve_feed(feed: &Feed, carrier: Hertz) -> (Db, Option<Assumed>) {
    let cable = feed.line.loss(Metres(feed.length_m), carrier);
    let loss = cable + connector_pair_loss(carrier) * f64::from(feed.connectors);
    let estimated = (feed.line.basis() == FeedBasis::Estimate && cable.0 > 0.0).then(|| {
        let value = (cable.0 * 100.0).round() / 100.0;
        let band = (cable.0 * ESTIMATED_FEED_SHARE * 100.0).ceil() / 100.0;
        Assumed::new("the loss of a thin feed line", Typical::new(value, band, "dB", COMMON_PRACTICE), true)
    });
    (loss, estimated)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::document::StatedHand;
    use crate::plan::limits;
    use crate::plan::presets::{ANTENNA_KINDS, unknown_sigma};
    use crate::rf::Vec3;
    use crate::rf::feed::FeedLine;

    fn unknown(kind: AntennaKind) -> AntennaKit {
        AntennaKit::of_kind(kind, StatedHand::Unknown)
    }

    #[test]
    fn a_kind_alone_gives_an_antenna_of_typical_gain() {
        for kind in ANTENNA_KINDS {
            let resolved = resolve_antenna(&unknown(kind), Hand::Left).unwrap();
            let typical = typical_antenna(kind);
            assert!((resolved.antenna.peak_gain().0 - typical.gain_dbi.value).abs() < 0.01, "{kind:?}");
            assert_eq!(resolved.assumed[0].value, typical.gain_dbi.value);
            assert!((unknown_sigma(&resolved.assumed).0 - typical.gain_dbi.sigma()).abs() < 1e-12, "{kind:?}");
            let of = if kind == AntennaKind::Helix { "the gain of an axial-mode helix" } else { "the gain of a " };
            assert!(resolved.assumed[0].what.starts_with(of), "{}", resolved.assumed[0].what);
            let expected = usize::from(kind == AntennaKind::Whip);
            assert_eq!(resolved.remarks.len(), expected, "{:?}", resolved.remarks);
        }
    }

    #[test]
    fn nothing_is_assumed_about_what_is_stated() {
        let kit = AntennaKit {
            gain_dbi: Some(8.0),
            axial_ratio_db: Some(1.5),
            beamwidth_deg: Some(70.0),
            rejection_db: Some(14.0),
            ..unknown(AntennaKind::CircularPatch)
        };
        let resolved = resolve_antenna(&kit, Hand::Right).unwrap();
        assert_eq!(resolved.assumed, []);
        let expected = CircularPatch {
            hand: Hand::Right,
            peak_gain: Dbi(8.0),
            axial_ratio: Db(1.5),
            beamwidth: Degrees(70.0),
            front_to_back: Db(14.0),
        };
        assert_eq!(resolved.antenna.model(), &AntennaModel::CircularPatch(expected));
    }

    #[test]
    fn a_gain_that_a_kind_cannot_have_is_used_and_remarked_upon() {
        let kit = AntennaKit { gain_dbi: Some(5.0), ..unknown(AntennaKind::Dipole) };
        let resolved = resolve_antenna(&kit, Hand::Right).unwrap();
        assert!((resolved.antenna.peak_gain().0 - 5.0).abs() < 1e-9);
        assert_eq!(resolved.remarks.len(), 1);
        assert!(resolved.remarks[0].starts_with("half-wave dipole: a gain of 5.0 dBi"), "{:?}", resolved.remarks);
    }

    #[test]
    fn an_unknown_beamwidth_follows_the_gain() {
        for kind in [AntennaKind::CircularPatch, AntennaKind::LinearPatch, AntennaKind::Helix] {
            for gain in [6.0, 8.0, 10.0, 12.0] {
                let kit = AntennaKit { gain_dbi: Some(gain), ..unknown(kind) };
                let resolved = resolve_antenna(&kit, Hand::Right).unwrap();
                assert!((Dbi::from_ratio(resolved.antenna.gain(&Vec3::x())).0 - gain).abs() < 1e-9, "{kind:?} {gain}");
                assert!(resolved.remarks.is_empty(), "{kind:?} {gain}: {:?}", resolved.remarks);
            }
        }
    }

    #[test]
    fn a_feed_line_is_cable_and_connectors() {
        let carrier = Hertz(5.8e9);
        let feed = |line, length_m, connectors| Feed { line, length_m, connectors };
        // RG178 takes 4.41 dB/m at 5.8 GHz (fit to datasheet points), a pair of connectors 0.1 dB.
        let (loss, assumed) = resolve_feed(&feed(FeedLine::Rg178, 0.5, 2), carrier);
        assert!((loss.0 - (0.5 * 4.41 + 0.2)).abs() < 0.005);
        assert_eq!(assumed, None);
        let (loss, assumed) = resolve_feed(&feed(FeedLine::Micro113, 0.1, 0), carrier);
        let assumed = assumed.unwrap();
        assert!((assumed.value - loss.0).abs() < 0.01 && (assumed.band - 0.2 * loss.0).abs() < 0.01, "{assumed:?}");
        assert_eq!(resolve_feed(&feed(FeedLine::Micro113, 0.0, 0), carrier), (Db(0.0), None));
    }

    #[test]
    fn every_end_of_the_allowed_ranges_gives_an_antenna() {
        for kind in ANTENNA_KINDS {
            for gain in [limits::GAIN_DBI.min, limits::GAIN_DBI.max] {
                for pick in [|range: limits::Range| range.min, |range: limits::Range| range.max] {
                    let kit = AntennaKit {
                        gain_dbi: Some(gain),
                        axial_ratio_db: Some(pick(limits::AXIAL_RATIO_DB)),
                        beamwidth_deg: Some(pick(limits::BEAMWIDTH_DEG)),
                        rejection_db: Some(pick(limits::REJECTION_DB)),
                        ..unknown(kind)
                    };
                    assert!(resolve_antenna(&kit, Hand::Right).is_ok(), "{kit:?}");
                }
            }
        }
    }

    #[test]
    fn a_threshold_is_noise_and_noise_figure_and_required_ratio() {
        // kT0 = -173.975 dBm/Hz; 18 MHz are 72.553 dB: the thermal noise is -101.422 dBm.
        let picture = Picture::Analogue { bandwidth_hz: 18e6, required_cn_db: None };
        let receiver = resolve_receiver(&picture, &ReceiverNoise::NoiseFigure { noise_figure_db: None });
        assert!((receiver.threshold.0 - (-101.422 + 8.0 + 10.0)).abs() < 1e-3);
        assert!(((receiver.good_threshold - receiver.threshold).0 - 8.0).abs() < 1e-12);
        // Two independent bands of 2 dB: 2/√3 each.
        assert!((unknown_sigma(&receiver.assumed).0 - (8.0_f64 / 3.0).sqrt()).abs() < 1e-12);
        assert_eq!(receiver.freeze, None);

        let stated = ReceiverNoise::NoiseFigure { noise_figure_db: Some(6.0) };
        let picture = Picture::Analogue { bandwidth_hz: 18e6, required_cn_db: Some(20.0) };
        let receiver = resolve_receiver(&picture, &stated);
        assert_eq!(receiver.assumed, []);
        assert!((receiver.threshold.0 - (-101.422 + 26.0)).abs() < 1e-3);
        assert_eq!(receiver.good_threshold, receiver.threshold, "good enough is never below usable");
    }

    #[test]
    fn a_stated_sensitivity_is_the_threshold() {
        let sensitivity = ReceiverNoise::Sensitivity { level_dbm: -88.0 };
        let picture = Picture::Analogue { bandwidth_hz: 18e6, required_cn_db: None };
        let receiver = resolve_receiver(&picture, &sensitivity);
        assert_eq!((receiver.threshold, receiver.good_threshold), (Dbm(-88.0), Dbm(-80.0)));
        assert_eq!((receiver.noise_figure, receiver.assumed.len()), (None, 0));

        let picture = Picture::Digital { bandwidth_hz: 20e6, required_cn_db: None, freeze_s: 0.5 };
        let receiver = resolve_receiver(&picture, &sensitivity);
        assert_eq!((receiver.good_threshold, receiver.freeze), (Dbm(-88.0), Some(Seconds(0.5))));
    }

    #[test]
    fn an_unknown_frame_is_a_typical_one() {
        let mounting = Mounting { lean_back_deg: 0.0, lean_right_deg: 0.0, frame_loss_db: None };
        let (loss, assumed) = resolve_frame_loss(&mounting);
        assert_eq!(loss, Db(6.0));
        assert_eq!(
            assumed.map(|assumed| assumed.to_string()).as_deref(),
            Some("the loss through the aircraft's own frame is taken as 6 ± 3 dB (common practice, no source)")
        );
        assert_eq!(resolve_frame_loss(&Mounting { frame_loss_db: Some(2.0), ..mounting }), (Db(2.0), None));
    }
}
