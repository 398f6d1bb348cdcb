//! A hose that hangs in its holder stands, or something comes through its shut valve (F052).

use crate::frame::{Actuator, Actuators};
use crate::sense::Readings;
use crate::units::{AbsPa, Millis};

/// I19: a move of a hose behind its own shut valve that only that valve can have let through: 0.3 kPa were the most in sound jobs (own
/// figure),
const STRAYS: AbsPa = AbsPa(20_000);
/// beyond what sun on the hose moves it by, Pa/ms: 5 kPa/s (own choice; liquid that warms by 1 K in 4 s).
const STRAYS_A_MS: u32 = 5;
/// One wild conversion is no move; a charge passes 2 g in this time (own choice).
const STRAY_HELD: Millis = Millis(100);

/// What its gauge showed, as far as warmth can have moved it since, and how long it has been off that.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Stray {
    mark: Option<AbsPa>,
    held: Millis,
}

impl Stray {
    /// A hose that hangs in its holder stands, whatever goes on before its shut valve (F052). One on a vehicle may follow that.
    pub(super) fn moves(&mut self, dt: Millis, r: &Readings, on: Actuators, hanging: Actuators) -> bool {
        /// XV-1 and XV-2.
        const SERVICE: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::Xv2]);
        let alone = !hanging.is_empty() && on.and(SERVICE) == SERVICE.without(hanging);
        let Some(p) = r.pressure_behind(hanging).filter(|_| alone) else {
            (self.mark, self.held) = (None, Millis(0));
            return false;
        };
        let most = i32::try_from(dt.0.saturating_mul(STRAYS_A_MS)).unwrap_or(i32::MAX);
        let mark = self.mark.unwrap_or(p);
        let off = p.minus(mark).0;
        self.mark = Some(mark.plus(AbsPa(off.clamp(most.saturating_neg(), most))));
        self.held = if off.saturating_abs() > STRAYS.0 { self.held.plus(dt) } else { Millis(0) };
        self.held > STRAY_HELD
    }
}
