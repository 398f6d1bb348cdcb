//! A vessel that is filled moves its gauge, and none moves by a step; one that is left alone stands at saturation or, with air in it, above; and what it stands above does not grow in a rest.
//!
//! Below saturation PT-1 reads too low or TT-1 too high (F003, F004, F017); a growth in a rest is a gauge that moved or drifts (F004,
//! F005), for air only comes in with what is pumped in. Asked where liquid is in the vessel, and ten minutes after the last that
//! stirred it: until then the wall may be warmer than what it holds.
//!
//! What moves too little or too far at once is PT-1 alone (F003, F007, F008).

use super::{Seen, Verdict};
use crate::config::LETS_OFF;
use crate::frame::Actuator;
use crate::units::*;

/// After what stirs or warms it wall and content agree (own figure: below saturation by 3.6 K at once, by 0.25 K after this).
const RESTED: Millis = Millis::from_secs(600);
/// How far below saturation, or above where it stood, in kelvin of saturation: the 1 K of F004 and a quarter for the classes of
/// PT-1 and TT-1 (1.75 kPa and 0.3 K, own figures).
const OFF: i32 = 125;
/// A wall unlike the ambient has a share of that between itself and the liquid: a quarter, where the reference vessel has an eighth
/// (own choice).
const AMBIENT_SHARE: i32 = 4;
/// Ambient where TT-4 can't be read: this far from the wall (own choice).
const UNKNOWN: i32 = 1_000;
/// A growth is judged only while wall and ambient are this near: a vessel that warms raises the pressure of its air.
const STEADY: i32 = 200;
/// Air comes out of the liquid for an hour: up to a third of it was dissolved (own figure).
const AIR_SHARE: i32 = 2;
/// So much more than the heel is no gas alone at any temperature of a workshop: twice.
const LIQUID: i32 = 2;
/// How long it must show.
const HELD: Millis = Millis::from_secs(10);
/// While C-1 brings this part of what the vessel holds: its warmth is 1 K for all of it,
const BRINGS_PART: i32 = 128;
/// and no less than this for each gram of its heel, mg: 40 g in the reference vessel, so that neither knock nor vibration are taken for it,
/// and as much more as a vessel is larger, whose gas makes room for what comes (own choice),
const BRINGS: i32 = 40;
/// in no more than this, for the wall takes warmth that comes slowly,
const BRINGS_IN: Millis = Millis::from_secs(20);
/// the vessel's pressure moves by more than this: the filtered gauge rustles by 0.3 kPa (own choice).
const MOVES: AbsPa = AbsPa(1_500);
/// No vessel moves by so much from one lap to the next: a purge does by 5, C-1 by 2 kPa/s, a relief valve that lifts by 400 (own figures).
const STEP: AbsPa = AbsPa(50_000);
/// A lap longer than this was not watched.
const LAP_MOST: Millis = Millis(2_000);
/// How long it must be gone.
const AGREED: Millis = Millis::from_secs(60);

#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Vessel {
    /// What PT-1 stood above saturation when this rest could first be judged.
    from: Option<AbsPa>,
    verdict: Verdict,
    /// PT-1 of the last lap.
    last: Option<AbsPa>,
    /// Mass and PT-1 since which C-1 has brought something, and for how long.
    brought: Option<(Milligram, AbsPa)>,
    bringing: Millis,
    /// PT-1 moved unlike a vessel's pressure; it is believed again after a minute at rest at which it fits saturation.
    unlike: bool,
    fits: Millis,
}

impl Vessel {
    /// PT-1 and TT-1: nothing says which of them.
    pub(super) fn doubted(&self) -> bool {
        self.verdict.stands
    }

    /// PT-1.
    pub(super) fn gauge_doubted(&self) -> bool {
        self.unlike
    }

    /// What fills moves it, and by no step.
    fn moves(&mut self, s: &Seen<'_>) {
        let p = s.r.pt1.usable();
        let watched = s.dt <= LAP_MOST;
        let (last, now) = (core::mem::replace(&mut self.last, p), p);
        if let (Some(last), Some(now), true) = (last, now, watched) {
            // PSV-1 shuts at some part of what it opens at: it lets nothing fall further.
            let let_off = now < last && now >= LETS_OFF;
            self.unlike |= now.minus(last).0.saturating_abs() > STEP.0 && !let_off;
        }
        let filled = s.on.has(Actuator::C1) && s.on.has(Actuator::Xv4);
        let now = s.r.wt1.mass.usable().zip(p).filter(|_| filled && watched);
        let (Some((mass, p)), Some((from, was))) = (now, self.brought) else {
            (self.brought, self.bringing) = (now, Millis(0));
            return;
        };
        self.bringing = self.bringing.plus(s.dt);
        let enough = mass.minus(from)
            >= Milligram(mass.0 / BRINGS_PART).or_more(Milligram((s.cfg.vessel_heel.0 / 1_000).saturating_mul(BRINGS)));
        self.unlike |= enough && p.minus(was).0.saturating_abs() < MOVES.0;
        if enough || self.bringing >= BRINGS_IN {
            (self.brought, self.bringing) = (now, Millis(0));
        }
    }

    pub(super) fn step(&mut self, s: &Seen<'_>, vessel_rest: Millis) {
        self.moves(s);
        if vessel_rest < RESTED || s.on.has(Actuator::Xv7) {
            if !self.verdict.stands {
                self.from = None;
            }
            self.verdict.idle();
            return;
        }
        let (Some(p), Some(wall), Some(mass)) = (s.r.pt1.usable(), s.r.tt1.usable(), s.r.wt1.mass.usable()) else {
            self.verdict.idle();
            return;
        };
        if mass.0 / LIQUID < s.cfg.vessel_heel.0 {
            self.verdict.idle();
            return;
        }
        let ambient = s.r.tt4.usable().map_or(UNKNOWN, |air| air.minus(wall).0.saturating_abs());
        let off = CentiKelvin(OFF.saturating_add(ambient / AMBIENT_SHARE));
        let fluid = s.cfg.refrigerant;
        let saturation = fluid.p_sat(wall);
        let limit = saturation.minus(fluid.p_sat(wall.minus(off)));
        let excess = p.minus(saturation);
        let low = excess.0 < limit.0.saturating_neg();
        let grown = ambient < STEADY && {
            let from = *self.from.get_or_insert(excess);
            excess > from.plus(limit).plus(AbsPa(from.0.max(0) / AIR_SHARE))
        };
        self.verdict.weigh(s.dt, low || grown, HELD, AGREED);
        self.fits = if self.unlike && !low && !grown { self.fits.plus(s.dt) } else { Millis(0) };
        self.unlike &= self.fits < AGREED;
    }
}
