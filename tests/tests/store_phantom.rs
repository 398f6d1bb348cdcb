//! F091: headers that nobody wrote, and what hides a record that was written well. Only a scan as a start makes it, before anything is
//! acknowledged, finds them.

use crc::{CRC_32_ISO_HDLC, Crc};
use embedded_storage::nor_flash::{ErrorType, NorFlash, ReadNorFlash};
use valvewright_core::record::{Found, Plan, Refusal, Store};
use valvewright_sim::flash::{Broken, NorSim};

use crate::store_bench::{pages, plan};

const PAGE: usize = 1024;
const PLAN: Plan = plan(3, 0, 0);
const SUM: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// The head of a page as `docs/record-store.md` has it: layout 1, first of its generation, nothing carried over, committed.
pub fn header(at: usize, role: u8, layout: u8, generation: u32) -> Vec<u8> {
    let mut head = vec![layout, role, 0, 0];
    head.extend(generation.to_le_bytes());
    head.extend(0_u32.to_le_bytes());
    head.extend([0, 0, 0xA7, 0x56]);
    head.extend(1_u32.to_le_bytes());
    head.extend(SUM.checksum(&head).to_le_bytes());
    let low = SUM.checksum(&[&b"page"[..], &(at as u32).to_le_bytes()].concat());
    head.extend(low.to_le_bytes());
    head.extend((!low).to_le_bytes());
    head
}

/// A part in which, after so many programs, free pages come to read as the begin of a newer, empty generation.
#[derive(Clone)]
struct Haunted {
    part: NorSim<4, 1024>,
    after: u32,
    sides: Vec<u8>,
}

impl Haunted {
    fn rise(&mut self) {
        for role in self.sides.clone() {
            let from = usize::from(role) * usize::from(PLAN.side);
            let held = self.part.cells().held();
            let free = (from..from + usize::from(PLAN.side))
                .find(|page| held[page * PAGE + 16..(page + 1) * PAGE].iter().all(|byte| *byte == 0xFF));
            let at = free.expect("a free page") * PAGE;
            self.part.force(at + 16, &header(at, role, 1, 1_000));
        }
    }
}

impl ErrorType for Haunted {
    type Error = Broken;
}

impl ReadNorFlash for Haunted {
    const READ_SIZE: usize = 1;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Broken> {
        self.part.read(offset, bytes)
    }

    fn capacity(&self) -> usize {
        self.part.capacity()
    }
}

impl NorFlash for Haunted {
    const WRITE_SIZE: usize = 4;
    const ERASE_SIZE: usize = 1024;

    fn erase(&mut self, from: u32, to: u32) -> Result<(), Broken> {
        self.part.erase(from, to)
    }

    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Broken> {
        let done = self.part.write(offset, bytes);
        self.after = self.after.wrapping_sub(1);
        if self.after == 0 {
            self.rise();
        }
        done
    }
}

fn get(store: &mut Store<Haunted>, key: u8) -> Result<Option<Vec<u8>>, Refusal> {
    let mut bytes = [0; 240];
    Ok(store.get(key, &mut bytes)?.map(|len| bytes[..len].to_vec()))
}

/// On F091. Whenever it rises, what was acknowledged is found by the next start. Of the puts that are tried, one ends exactly when it
/// rises: each of its records was read back twice by then.
#[test]
fn a_phantom_header_never_hides_what_was_acknowledged() {
    let mut put_through = 0;
    for sides in [vec![0], vec![1], vec![0, 1]] {
        for after in 1..=10 {
            let part = Haunted { part: NorSim::new(pages(&PLAN), 3), after: u32::MAX, sides: sides.clone() };
            let mut store = Store::commission(part, &PLAN).expect("a part without faults");
            for key in 0..5 {
                store.put(key, &[key; 20]).expect("a part without faults");
            }
            store.flash_mut().after = after;
            let mut last = [2_u8; 20];
            for round in 0..3 {
                let value = [100 + round; 20];
                if store.put(2, &value).is_ok() {
                    last = value;
                    put_through += 1;
                }
                let start = store.clone().release();
                let mut start = Store::mount(start, &PLAN).expect("this layout");
                let now = (get(&mut start, 2), get(&mut start, 4));
                let expected = (Ok(Some(last.to_vec())), Ok(Some(vec![4; 20])));
                assert_eq!(now, expected, "on sides {sides:?} after program {after}, put {round} of 3");
                assert!(matches!(start.found(), Found::Sound | Found::Repaired));
            }
        }
    }
    assert_eq!(put_through, 3 * 10 * 3, "it is written anew beyond the phantom");
}
