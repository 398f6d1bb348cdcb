//! Where everything of a network sits in the vector of unknowns, and which matrix entries can be other than zero.
//!
//! Nothing here changes while a network runs, so that runs of one network share it: a layout made once is kept by its shape.

use std::sync::{Arc, LazyLock, Mutex};

use super::PlantError;
use super::node::{CONTENT, REFRIGERANT, SECOND};
use super::parts::{Parts, Place};
use super::sparse::{AREA, Pattern};
use super::spec::{Amount, LawSpec, NetworkSpec, OilLaw, PlaceKind};

/// Unknowns of a place by kind: content first, in the order of `node`.
pub const LOCALS: usize = 15;
/// Enthalpy of the wall and its water; then that water; the cold wall's follow.
pub const WALL: [usize; 2] = [5, 7];
/// Puddle's mass; its energy follows.
pub const POOL: usize = 9;
/// Oil mass; dissolved refrigerant and energy of the oil phase follow.
pub const OIL: usize = 11;
/// Air dissolved in liquid refrigerant.
pub const DISSOLVED_AIR: usize = 14;
/// Ledger: refrigerant, air, water, second refrigerant and oil that left the network (kg), and energy that came in (J).
pub const LEDGER: usize = 6;
/// Oil in the ledger.
pub const OIL_OUT: usize = 4;
/// Energy in the ledger.
pub const ENERGY_IN: usize = 5;
/// No such unknown.
pub const NONE: u32 = u32::MAX;
/// Layouts kept: a campaign has a handful of networks.
const KEPT: usize = 16;

/// A place's unknowns.
#[derive(Debug, Clone)]
pub struct Seat {
    /// First of the content's unknowns; the cabinet's refrigerant mass.
    pub base: usize,
    /// Index of each unknown, or [`NONE`].
    pub at: [u32; LOCALS],
    /// Matrix positions [row][column] between them; the dummy slot where there is none.
    pub own: Box<[[u32; LOCALS]; LOCALS]>,
}

impl Seat {
    /// Index of an unknown, if the place has it.
    #[inline]
    pub fn get(&self, local: usize) -> Option<usize> {
        let at = self.at[local];
        (at != NONE).then_some(at as usize)
    }
}

/// An element's place in the matrix.
#[derive(Debug, Clone)]
pub struct Joint {
    /// Node indices of `from` and `to`.
    pub ends: [usize; 2],
    /// First matrix position of the 4 x 4 blocks [row side][column side] between the contents; a dummy block where a side has none.
    pub blocks: [[u32; 2]; 2],
    /// Positions of the second refrigerant's column in the rows, and of its row in the columns, [row side][column side][unknown].
    pub second: [[[[u32; CONTENT]; 2]; 2]; 2],
    /// First matrix position of the blocks between a content and the oil phase that takes its room [row side][column side]; a dummy block
    /// where there is none.
    pub squeeze: [[u32; 2]; 2],
    /// Positions of oil, dissolved refrigerant and oil's energy [row side][column side].
    pub oil: [[[u32; 3]; 2]; 2],
    /// Unknown of its own (heater skin temperature, water in a pump's oil), or [`NONE`].
    pub own: u32,
    /// Positions of a heater: skin-skin, skin-wall, wall-wall, wall-skin.
    pub heater: [u32; 4],
    /// Positions of a heat link between the unknowns of [`heat_unknowns`] at its ends [row side][column side][row][column].
    pub heat: [[[[u32; CONTENT]; CONTENT]; 2]; 2],
}

/// The whole arrangement.
#[derive(Debug)]
pub struct Layout {
    /// One seat a place.
    pub seats: Vec<Seat>,
    /// One joint an element.
    pub joints: Vec<Joint>,
    /// Unknowns, without the ledger.
    pub unknowns: usize,
    /// Pattern of the matrix.
    pub pattern: Arc<Pattern>,
    /// There is a second refrigerant.
    pub mixed: bool,
    /// There is water, or it can come in.
    pub moist: bool,
}

/// The unknowns of an end that heat acts on and depends on: the wall's enthalpy, or the content.
pub fn heat_unknowns(seat: &Seat) -> Vec<usize> {
    match seat.get(WALL[0]) {
        Some(wall) => vec![wall],
        None => content_of(seat),
    }
}

fn content_of(seat: &Seat) -> Vec<usize> {
    (0..CONTENT).filter_map(|k| seat.get(k)).collect()
}

impl Layout {
    /// Node index of the ambient air.
    pub fn ambient(&self) -> usize {
        self.seats.len()
    }

    /// Node index of the vacuum.
    pub fn vacuum(&self) -> usize {
        self.seats.len() + 1
    }

    /// First unknown of a closed volume.
    pub fn base(&self, parts: &Parts, node: usize) -> Option<usize> {
        parts.places.get(node).filter(|place| place.closed()).map(|_| self.seats[node].base)
    }

    /// Length of a matrix array: the pattern's values and a dummy block.
    pub fn matrix(&self) -> usize {
        self.pattern.len() + AREA
    }

    /// The layout of `spec`, made anew or taken from those of the same shape. `wet`: there is water whatever `spec` says.
    pub fn of(spec: &NetworkSpec, parts: &Parts, wet: bool) -> Result<Arc<Self>, PlantError> {
        /// Shapes met, each with its layout.
        type Known = Vec<(Vec<u32>, Arc<Layout>)>;
        static MADE: LazyLock<Mutex<Known>> = LazyLock::new(Mutex::default);
        let ends = ends(spec, parts)?;
        let moist = wet || moist(spec);
        let shape = shape(spec, parts, &ends, moist);
        let mut made = MADE.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if let Some((_, known)) = made.iter().find(|(known, _)| *known == shape) {
            return Ok(known.clone());
        }
        let new = Arc::new(Self::new(spec, parts, &ends, moist));
        if made.len() >= KEPT {
            made.remove(0);
        }
        made.push((shape, new.clone()));
        Ok(new)
    }

    fn new(spec: &NetworkSpec, parts: &Parts, ends: &[[usize; 2]], moist: bool) -> Self {
        let mixed = spec.second.is_some();
        let mut next = 0;
        let mut seats: Vec<Seat> = parts.places.iter().map(|place| number(place, mixed, moist, &mut next)).collect();
        let own: Vec<u32> = spec
            .elements
            .iter()
            .map(|element| match &element.law {
                LawSpec::Heater(_) => 1,
                LawSpec::VacuumPump(pump) if pump.oil.is_some() => 1,
                _ => 0,
            })
            .map(|count| {
                next += count;
                if count > 0 { next as u32 - 1 } else { NONE }
            })
            .collect();
        let entries = entries(&seats, parts, ends, &own);
        let groups = groups(&seats, parts, ends, &own, next);
        let pattern = Pattern::new(next, &entries, &elimination(&groups, &entries, next));
        let dummy = pattern.len() as u32;
        let at = |i: u32, j: u32| {
            if i == NONE || j == NONE {
                return dummy;
            }
            pattern.position(i as usize, j as usize).map_or(dummy, |at| at as u32)
        };
        for seat in &mut seats {
            let unknowns = seat.at;
            *seat.own = unknowns.map(|i| unknowns.map(|j| at(i, j)));
        }
        // A cabinet's one unknown takes part in no flow's block.
        let unknowns = |node: usize| {
            let mut at = seats.get(node).map_or([NONE; LOCALS], |seat| seat.at);
            if parts.places.get(node).is_none_or(|place| !place.closed()) {
                at[..CONTENT].fill(NONE);
            }
            at
        };
        let joints = ends
            .iter()
            .zip(&own)
            .map(|(&ends, &own)| joint(ends, own, &unknowns, &|node| heat_lanes(seats.get(node)), &at, dummy))
            .collect();
        Self { joints, unknowns: next, pattern: Arc::new(pattern), mixed, moist, seats }
    }
}

/// Where arriving oil, what is dissolved in it, or its energy (`k` = 0, 1, 2) goes: what is dissolved in oil that comes to a film
/// joins the content.
fn oil_row(at: &[u32; LOCALS], k: usize) -> u32 {
    let film = at[OIL] != NONE && at[OIL + 1] == NONE;
    if film && k == 1 { at[REFRIGERANT] } else { at[OIL + k] }
}

/// Unknowns of [`heat_unknowns`] in lanes.
fn heat_lanes(seat: Option<&Seat>) -> [u32; CONTENT] {
    let mut lanes = [NONE; CONTENT];
    for (lane, unknown) in lanes.iter_mut().zip(seat.map(heat_unknowns).unwrap_or_default()) {
        *lane = unknown as u32;
    }
    lanes
}

fn joint(
    ends: [usize; 2],
    own: u32,
    unknowns: &dyn Fn(usize) -> [u32; LOCALS],
    heated: &dyn Fn(usize) -> [u32; CONTENT],
    at: &dyn Fn(u32, u32) -> u32,
    dummy: u32,
) -> Joint {
    let local = ends.map(unknowns);
    let heat = ends.map(heated);
    let sides = |f: &dyn Fn(usize, usize) -> u32| [0, 1].map(|row| [0, 1].map(|column| f(row, column)));
    let wall = local[0][WALL[0]];
    Joint {
        ends,
        blocks: sides(&|row, column| at(local[row][0], local[column][0])),
        squeeze: sides(&|row, column| {
            let phase = local[column][OIL + 1] != NONE && local[column][OIL + 2] != NONE;
            if phase { at(local[row][0], local[column][OIL]) } else { dummy }
        }),
        second: [0, 1].map(|row| {
            [0, 1].map(|column| {
                [0, 1].map(|which| {
                    std::array::from_fn(|k| match which {
                        0 => at(local[row][k], local[column][SECOND]),
                        _ if k == SECOND => dummy,
                        _ => at(local[row][SECOND], local[column][k]),
                    })
                })
            })
        }),
        oil: [0, 1].map(|row| {
            [0, 1].map(|column| std::array::from_fn(|k| at(oil_row(&local[row], k), local[column][OIL + k])))
        }),
        own,
        heater: [at(own, own), at(own, wall), at(wall, wall), at(wall, own)],
        heat: [0, 1].map(|row| [0, 1].map(|column| heat[row].map(|i| heat[column].map(|j| at(i, j))))),
    }
}

/// Water is somewhere in the network, or moist air can come in.
fn moist(spec: &NetworkSpec) -> bool {
    let inside = spec.volumes.iter().any(|volume| {
        let walls = [volume.wall, volume.cold_wall].into_iter().flatten().any(|wall| wall.water > 0.0);
        let air = !matches!(volume.fill.air, Amount::Mass(0.0) | Amount::Pressure(0.0));
        walls || volume.pool.is_some() || (volume.fill.humidity > 0.0 && air)
    });
    let open = spec.elements.iter().any(|element| {
        let at_ambient = element.from == "ambient" || element.to == "ambient";
        let inwards = match &element.law {
            LawSpec::Orifice(law) => !law.one_way || element.from == "ambient",
            LawSpec::LiquidOrifice(law) => !law.one_way || element.from == "ambient",
            LawSpec::Hose(law) => !law.one_way || element.from == "ambient",
            LawSpec::Duct(_) => true,
            LawSpec::Compressor(_) | LawSpec::DrawOff(_) => element.from == "ambient",
            _ => false,
        };
        at_ambient && inwards
    });
    inside || (open && spec.ambient.humidity > 0.0)
}

fn number(place: &Place, mixed: bool, moist: bool, next: &mut usize) -> Seat {
    let mut at = [NONE; LOCALS];
    let base = *next;
    let mut take = |slots: &mut [u32]| {
        for slot in slots {
            *slot = *next as u32;
            *next += 1;
        }
    };
    match place.kind {
        PlaceKind::Closed => {
            take(&mut at[0..SECOND]);
            if mixed {
                take(&mut at[SECOND..CONTENT]);
            }
        }
        PlaceKind::Cabinet { .. } => take(&mut at[0..1]),
        PlaceKind::Bottle => {}
    }
    for (wall, first) in place.walls.iter().zip(WALL) {
        if wall.is_some() {
            take(&mut at[first..first + 1 + usize::from(moist)]);
        }
    }
    if place.pool.is_some() {
        take(&mut at[POOL..POOL + 2]);
    }
    if let Some(oil) = &place.oil {
        take(&mut at[OIL..OIL + 1]);
        if oil.law != OilLaw::Film {
            take(&mut at[OIL + 1..OIL + 2]);
        }
        if place.closed() && !oil.weightless {
            take(&mut at[OIL + 2..DISSOLVED_AIR]);
        }
    }
    if place.uptake.is_some() {
        take(&mut at[DISSOLVED_AIR..]);
    }
    Seat { base, at, own: Box::new([[0; LOCALS]; LOCALS]) }
}

/// Node indices of the ends of every element.
fn ends(spec: &NetworkSpec, parts: &Parts) -> Result<Vec<[usize; 2]>, PlantError> {
    spec.elements
        .iter()
        .map(|element| {
            let find = |name: &str| match name {
                "ambient" => Ok(parts.places.len()),
                "vacuum" => Ok(parts.places.len() + 1),
                _ => parts.places.iter().position(|place| place.name == name).ok_or_else(|| {
                    let known: Vec<&str> = parts.places.iter().map(|place| place.name.as_str()).collect();
                    PlantError::new(format!(
                        "element `{}` names `{name}`, which is no volume; known are {}, ambient, vacuum",
                        element.name,
                        known.join(", ")
                    ))
                }),
            };
            let ends = [find(&element.from)?, find(&element.to)?];
            check_ends(&parts.places, &element.name, &element.law, ends)?;
            Ok(ends)
        })
        .collect()
}

fn check_ends(places: &[Place], name: &str, law: &LawSpec, ends: [usize; 2]) -> Result<(), PlantError> {
    let closed = |node: usize| places.get(node).is_some_and(Place::closed);
    let fail = |what: &str| Err(PlantError::new(format!("element `{name}`: {what}")));
    if ends[0] == ends[1] && !matches!(law, LawSpec::Heater(_) | LawSpec::Fan(_)) {
        return fail("`from` and `to` are the same place");
    }
    match law {
        LawSpec::Fan(_) if !places.get(ends[0]).is_some_and(|p| matches!(p.kind, PlaceKind::Cabinet { .. })) => {
            fail("a fan airs a cabinet; name one as `from`")
        }
        LawSpec::Heater(_) if places.get(ends[0]).is_none_or(|p| p.walls[0].is_none()) => {
            fail("a heater needs a volume with a wall as `from`")
        }
        LawSpec::HeatLink(_) if !(closed(ends[0]) && closed(ends[1])) => fail("a heat link joins two closed volumes"),
        LawSpec::Compressor(_) if !(closed(ends[0]) && closed(ends[1])) => {
            fail("a compressor joins two closed volumes")
        }
        LawSpec::VacuumPump(_) | LawSpec::Relief(_) | LawSpec::DrawOff(_) if !closed(ends[0]) => {
            fail("`from` must be a closed volume")
        }
        _ => Ok(()),
    }
}

/// What a layout depends on, as numbers.
fn shape(spec: &NetworkSpec, parts: &Parts, ends: &[[usize; 2]], moist: bool) -> Vec<u32> {
    let mut made = vec![u32::from(spec.second.is_some()), u32::from(moist), parts.places.len() as u32];
    for place in &parts.places {
        let kind = match place.kind {
            PlaceKind::Closed => 0,
            PlaceKind::Cabinet { .. } => 1,
            PlaceKind::Bottle => 2,
        };
        let flags = [
            place.walls[0].is_some(),
            place.walls[1].is_some(),
            place.pool.is_some(),
            place.oil.is_some(),
            place.oil.is_some_and(|oil| oil.phase()),
            place.oil.is_some_and(|oil| oil.law == OilLaw::Film),
            place.uptake.is_some(),
        ];
        made.push(flags.iter().fold(kind, |sum, flag| 2 * sum + u32::from(*flag)));
    }
    for (element, ends) in spec.elements.iter().zip(ends) {
        let kind = match &element.law {
            LawSpec::Heater(_) => 0,
            LawSpec::HeatLink(_) => 1,
            LawSpec::VacuumPump(pump) if pump.oil.is_some() => 2,
            LawSpec::Fan(_) => 3,
            _ => 4,
        };
        made.extend([kind, ends[0] as u32, ends[1] as u32]);
    }
    made
}

fn some(unknowns: &[u32]) -> impl Iterator<Item = usize> + '_ {
    unknowns.iter().filter(|at| **at != NONE).map(|at| *at as usize)
}

/// Groups of unknowns that share blocks.
fn groups(seats: &[Seat], parts: &Parts, ends: &[[usize; 2]], own: &[u32], unknowns: usize) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (index, seat) in seats.iter().enumerate() {
        let heaters = ends.iter().zip(own).zip(&parts.elements).filter(|((ends, own), element)| {
            ends[0] == index && **own != NONE && matches!(element.law, LawSpec::Heater(_))
        });
        let skins: Vec<usize> = heaters.map(|((_, own), _)| *own as usize).collect();
        groups.push(
            skins.into_iter().chain(some(&seat.at[WALL[0]..WALL[0] + 2])).chain(some(&seat.at[POOL..OIL])).collect(),
        );
        groups.push(some(&seat.at[WALL[1]..WALL[1] + 2]).collect());
        groups.push(some(&seat.at[DISSOLVED_AIR..]).collect());
        groups.push(some(&seat.at[OIL..DISSOLVED_AIR]).collect());
        groups.push(some(&seat.at[0..SECOND]).collect());
        groups.push(some(&seat.at[SECOND..CONTENT]).collect());
    }
    let rest = (0..unknowns).filter(|index| !groups.iter().any(|group| group.contains(index))).collect();
    groups.push(rest);
    groups.retain(|group| !group.is_empty());
    groups
}

fn entries(seats: &[Seat], parts: &Parts, ends: &[[usize; 2]], own: &[u32]) -> Vec<(usize, usize)> {
    let mut entries = Vec::new();
    for seat in seats {
        let content = content_of(seat);
        let beside = [
            some(&seat.at[WALL[0]..WALL[0] + 2]).chain(some(&seat.at[POOL..OIL])).collect::<Vec<_>>(),
            some(&seat.at[WALL[1]..WALL[1] + 2]).collect(),
            some(&seat.at[OIL..DISSOLVED_AIR]).collect(),
            some(&seat.at[DISSOLVED_AIR..]).collect(),
        ];
        // A film of oil only passes by.
        let film = seat.get(OIL).is_some() && seat.get(OIL + 1).is_none();
        block(&mut entries, &content);
        for (at, group) in beside.into_iter().enumerate() {
            let content = if film && at == 2 { &[][..] } else { &content };
            block(&mut entries, &content.iter().copied().chain(group).collect::<Vec<_>>());
        }
    }
    for ((element, ends), own) in parts.elements.iter().zip(ends).zip(own) {
        let seats: Vec<&Seat> = ends.iter().filter_map(|&node| seats.get(node)).collect();
        match &element.law {
            LawSpec::Heater(_) => {
                block(&mut entries, &some(&[*own, seats[0].at[WALL[0]]]).collect::<Vec<_>>());
            }
            LawSpec::HeatLink(_) => {
                block(&mut entries, &seats.iter().flat_map(|seat| heat_unknowns(seat)).collect::<Vec<_>>());
            }
            _ => {
                block(&mut entries, &seats.iter().flat_map(|seat| content_of(seat)).collect::<Vec<_>>());
                if let [one, other] = seats[..] {
                    for (row, column) in [(one, other), (other, one)] {
                        if column.get(OIL + 1).is_some() && column.get(OIL + 2).is_some() {
                            let oil: Vec<usize> = some(&column.at[OIL..DISSOLVED_AIR]).collect();
                            entries.extend(content_of(row).into_iter().flat_map(|i| oil.iter().map(move |&j| (i, j))));
                        }
                        entries.extend((0..3).filter_map(|k| {
                            let at = oil_row(&row.at, k);
                            let column = column.get(OIL + k).filter(|_| at != NONE)?;
                            Some((at as usize, column))
                        }));
                    }
                }
            }
        }
    }
    entries
}

/// Adds a full block over `unknowns`.
fn block(entries: &mut Vec<(usize, usize)>, unknowns: &[usize]) {
    for &i in unknowns {
        entries.extend(unknowns.iter().map(|&j| (i, j)));
    }
}

/// The groups in the order of their elimination: always one of those with the fewest neighbours left, so that what hangs on one
/// content alone goes first and fills nothing in.
fn elimination(groups: &[Vec<usize>], entries: &[(usize, usize)], unknowns: usize) -> Vec<Vec<usize>> {
    let mut home = vec![0; unknowns];
    for (at, group) in groups.iter().enumerate() {
        group.iter().for_each(|&unknown| home[unknown] = at);
    }
    let count = groups.len();
    let mut joined = vec![vec![false; count]; count];
    for &(i, j) in entries {
        if home[i] != home[j] {
            joined[home[i]][home[j]] = true;
            joined[home[j]][home[i]] = true;
        }
    }
    let mut left: Vec<usize> = (0..count).collect();
    let mut order = Vec::with_capacity(count);
    while !left.is_empty() {
        let degree = |group: usize| left.iter().filter(|other| joined[group][**other]).count();
        let at = (0..left.len()).min_by_key(|&at| (degree(left[at]), left[at])).unwrap_or(0);
        let group = left.remove(at);
        let neighbours: Vec<usize> = left.iter().copied().filter(|other| joined[group][*other]).collect();
        for &a in &neighbours {
            for &b in &neighbours {
                if a != b {
                    joined[a][b] = true;
                }
            }
        }
        order.push(groups[group].clone());
    }
    order
}
