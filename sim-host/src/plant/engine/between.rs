//! The way between the ends of a step: a cubic, and where that is not to be believed.

use super::Engine;
use crate::plant::layout::NONE;
use crate::plant::node::CONTENT;

/// Bulge of a cubic between two points over the difference of its end slope from their secant, times the step (4/27).
const BULGE: f64 = 0.15;
/// Tolerances that a way between two points may bulge beyond a little of what it moves.
const ROW: f64 = 5.0;
/// Most that the temperature of a gas may bulge between two points beyond half of what it moves, K.
const SLACK: f64 = 0.3;

impl Engine {
    /// Unknowns at `t` within the step, into `y`: cubic through both ends with their rates. `false` where that says nothing, because
    /// some content is so stiff that a tolerance's worth of imbalance fills it many times over within the step.
    pub fn between(&self, t: f64, y: &mut [f64]) -> bool {
        let h = self.end.t - self.start.t;
        if h <= 0.0 || t <= self.start.t {
            y.copy_from_slice(&self.start.y);
            return true;
        }
        if t >= self.end.t {
            y.copy_from_slice(&self.end.y);
            return true;
        }
        let contents = self.system.layout.seats.iter().flat_map(|seat| &seat.at[1..CONTENT]);
        if contents.into_iter().any(|at| *at != NONE && self.too_stiff(*at as usize, h)) {
            return false;
        }
        let x = (t - self.start.t) / h;
        let (one, two) = (x * (1.0 - x) * (1.0 - x) * h, -x * x * (1.0 - x) * h);
        let rise = x * x * (3.0 - 2.0 * x);
        let (start, end) = (&self.start, &self.end);
        for (index, value) in y.iter_mut().enumerate() {
            let (a, b) = (start.y[index], end.y[index]);
            *value = a + rise * (b - a) + one * start.f[index] + two * end.f[index];
        }
        !self.slaved(h)
    }

    /// A gas follows its wall, or what flows through it, so fast that its energy's rates say nothing of the way between.
    fn slaved(&self, h: f64) -> bool {
        let seats = self.system.layout.seats.iter().zip(&self.system.parts.places).zip(&self.end.nodes);
        let width = if self.system.layout.mixed { CONTENT } else { CONTENT - 1 };
        seats.filter(|((_, place), _)| place.closed() && place.data.isothermal.is_none()).any(|((seat, _), node)| {
            // Energy and masses go together: what counts is the temperature they make.
            let (mut moved, mut before, mut after) = (0.0, 0.0, 0.0);
            for (at, slope) in (seat.base..seat.base + width).zip(&node.dt) {
                let way = self.end.y[at] - self.start.y[at];
                moved += slope * way;
                before += slope * (self.start.f[at] * h - way);
                after += slope * (self.end.f[at] * h - way);
            }
            BULGE * before.abs().max(after.abs()) > 0.5 * moved.abs() + SLACK
        })
    }

    /// The rates at the ends of a step of `h` s would bend the way between them by many tolerances, and not for the way's own sake.
    fn too_stiff(&self, at: usize, h: f64) -> bool {
        let (moved, bulge) = self.bulge(at, h);
        bulge > 0.02 * moved + ROW * self.scale[at]
    }

    /// How far an unknown moved in the step of `h` s, and how far the cubic between its ends bulges.
    fn bulge(&self, at: usize, h: f64) -> (f64, f64) {
        let moved = self.end.y[at] - self.start.y[at];
        let bend = (self.start.f[at] * h - moved).abs().max((self.end.f[at] * h - moved).abs());
        (moved.abs(), BULGE * bend)
    }
}
