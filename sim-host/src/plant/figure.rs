//! Numbers of a running network read back, so that who changes one can put it back.

use super::network::{Plant, law_parameter};
use super::parts::Drift;

/// What is around a volume's wall, to be put back; nothing of its own where it has the ambient's temperature.
#[derive(Debug, Clone, Copy)]
pub struct Surroundings(Option<Drift>);

impl Plant {
    /// The present value of a number that [`Plant::set_param`] changes, in SI; none where there is no such number. Surroundings of a wall
    /// are read by [`Plant::surroundings`].
    pub fn param(&self, name: &str) -> Option<f64> {
        let (owner, key) = name.rsplit_once('.')?;
        let system = &self.engine.system;
        if owner == "ambient" {
            return match key {
                "temperature" => Some(system.ambient.temperature),
                "pressure" => Some(system.ambient.pressure),
                "humidity" => Some(system.ambient.humidity),
                _ => None,
            };
        }
        if let Some(element) = system.parts.elements.iter().find(|element| element.name == owner) {
            return element
                .stroke
                .get(key)
                .or_else(|| law_parameter(&mut element.law.clone(), key).map(|found| *found));
        }
        let (volume, which) = owner.strip_suffix(".cold_wall").map_or((owner, 0), |volume| (volume, 1));
        let place = system.parts.places.iter().find(|place| place.name == volume)?;
        match (key, &place.walls[which]) {
            ("compliance", _) if which == 0 => Some(place.data.compliance),
            ("to_ambient", Some(wall)) => Some(wall.spec.to_ambient),
            ("wet", Some(wall)) => Some(wall.spec.wet),
            ("dry", Some(wall)) => Some(wall.spec.dry),
            _ => None,
        }
    }

    /// Names of all elements, in the order of the network.
    pub fn element_names(&self) -> impl Iterator<Item = &str> {
        self.engine.system.parts.elements.iter().map(|element| element.name.as_str())
    }

    /// What is around the wall of that volume, and its temperature now, K; none where it has no wall.
    pub fn surroundings(&self, volume: &str) -> Option<(Surroundings, f64)> {
        let system = &self.engine.system;
        let wall = system.parts.places.iter().find(|place| place.name == volume)?.walls[0].as_ref()?;
        let now = wall.outside.map_or(system.ambient.temperature, |drift| drift.at(self.time()));
        Some((Surroundings(wall.outside), now))
    }

    /// Puts back what was around the wall of that volume.
    pub fn put_back(&mut self, volume: &str, was: Surroundings) {
        self.land();
        let places = &mut self.engine.system.parts.places;
        if let Some(Some(wall)) = places.iter_mut().find(|place| place.name == volume).map(|place| &mut place.walls[0])
        {
            wall.outside = was.0;
        }
        self.engine.refresh();
    }
}
