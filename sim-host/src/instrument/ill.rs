//! Breaking and mending of devices: by hand, or as the ill of somebody's who takes it away again.

use valvewright_core::frame::{Analog, Scale, Switches};

use super::Instruments;
use super::identifier_ill::IdentifierHealth;
use super::loop_ill::{LoopHealth, LoopIll};
use super::scale_ill::{ScaleHealth, ScaleIll};
use super::switch::ContactHealth;

/// Whose the ills are that are set by hand.
const BY_HAND: u32 = 0;

/// Something wrong with a device.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Ill {
    /// With a loop.
    Loop(Analog, LoopHealth),
    /// With a bridge of a scale.
    Scale(Scale, ScaleHealth),
    /// With contacts, one or more of the bits of [`Switches`].
    Contact(u16, ContactHealth),
    /// A contact that opens on a high value (LS-1, LS-2, PSH-1, PSH-2) moves at this share of its set points.
    Early(u16, f64),
    /// The duct of K-1 lets only this share of the air through.
    Duct(f64),
    /// With the identifier.
    Identifier(IdentifierHealth),
}

impl Instruments {
    /// Breaks a device; the ill is that of `key`, from 1, and what is random in it comes from `seed`. Ills of one device act together,
    /// along the way of its reading and in the order in which they began.
    pub fn ail(&mut self, key: u32, seed: u64, ill: Ill) {
        match ill {
            Ill::Loop(input, health) => self.transmitters.ail(LoopIll::new(key, seed, input as usize, health)),
            Ill::Scale(scale, health) => {
                let device = self.scales.get_mut(scale as usize);
                device.into_iter().for_each(|device| device.ail(ScaleIll::new(key, health)));
            }
            Ill::Contact(mask, health) => self.contacts.ail(key, mask, health),
            Ill::Early(mask, share) => match mask {
                Switches::LS1_NOT_FULL => self.used_oil.ail(key, share),
                Switches::LS2_NOT_HIGH => self.separator.ail(key, share),
                Switches::PSH1_HEALTHY => self.discharge.ail(key, share),
                Switches::PSH2_HEALTHY => self.pump_inlet.ail(key, share),
                _ => {}
            },
            Ill::Duct(share) => self.fan.ail(key, share),
            Ill::Identifier(health) => self.identifier.ail(key, seed, health),
        }
    }

    /// Mends all that is of `key`; every device is then what it would be had that never been, but for its memory of what it saw.
    pub fn mend(&mut self, key: u32) {
        self.transmitters.mend(|one| one.key == key);
        self.scales.iter_mut().for_each(|device| device.mend(key));
        self.contacts.mend(key, u16::MAX);
        for one in [&mut self.used_oil, &mut self.separator, &mut self.discharge, &mut self.pump_inlet] {
            one.mend(key);
        }
        self.fan.mend(key);
        self.identifier.mend(key);
    }

    /// Breaks or mends one loop by hand; a drift begins anew.
    pub fn set_loop(&mut self, input: Analog, health: LoopHealth) {
        self.transmitters.mend(|one| one.key == BY_HAND && one.at == input as usize);
        self.ail(BY_HAND, 0, Ill::Loop(input, health));
    }

    /// Breaks or mends one scale by hand; a drift begins anew.
    pub fn set_scale(&mut self, scale: Scale, health: ScaleHealth) {
        self.scales.get_mut(scale as usize).into_iter().for_each(|device| device.mend(BY_HAND));
        self.ail(BY_HAND, 0, Ill::Scale(scale, health));
    }

    /// Breaks or mends by hand the contacts of `mask`, one or more of the bits of [`Switches`].
    pub fn set_contact(&mut self, mask: u16, health: ContactHealth) {
        self.contacts.mend(BY_HAND, mask);
        self.ail(BY_HAND, 0, Ill::Contact(mask, health));
    }
}
