//! The flash that the store is broken on has the rules of a real one, and the same seed gives the same bits.

use embedded_storage::nor_flash::{NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash};
use valvewright_sim::flash::{Broken, Cut, NorSim, Share, Worn};

type Serial = NorSim<1, 4096>;
type Internal = NorSim<8, 2048>;

fn bytes<const W: usize, const E: usize>(part: &mut NorSim<W, E>, at: u32, len: usize) -> Vec<u8> {
    let mut bytes = vec![0; len];
    part.read(at, &mut bytes).expect("it has power");
    bytes
}

#[test]
fn an_erase_sets_and_a_program_only_clears() {
    let mut part = Serial::new(2, 1);
    assert_eq!(bytes(&mut part, 0, 8), [0xFF; 8]);
    part.write(3, &[0b1010_1010]).expect("blank");
    part.write(3, &[0b1010_0000]).expect("clears more");
    assert_eq!(part.write(3, &[0b0000_1111]), Err(Broken::NotErased));
    assert_eq!(bytes(&mut part, 3, 1), [0], "what is left is garbage");
    part.erase(0, 4096).expect("a page");
    assert_eq!(bytes(&mut part, 0, 4096), [0xFF; 4096]);
    assert_eq!((part.wear(), part.counts().overwrites), (&[1, 0][..], 1));
}

/// Words of 8 bytes have a check code of their own.
#[test]
fn a_guarded_word_takes_one_program() {
    let mut part = Internal::new(1, 1);
    part.write(8, &[0xF0; 8]).expect("blank");
    assert_eq!(part.write(8, &[0; 8]), Err(Broken::NotErased));
    part.write(16, &[0; 8]).expect("its neighbour");
}

#[test]
fn sizes_and_bounds_are_kept() {
    let mut part = Internal::new(2, 1);
    assert_eq!(part.write(4, &[0; 8]), Err(Broken::Alignment));
    assert_eq!(part.write(0, &[0; 7]), Err(Broken::Alignment));
    assert_eq!(part.erase(0, 1024), Err(Broken::Alignment));
    assert_eq!(part.erase(2048, 6144), Err(Broken::Bounds));
    assert_eq!(part.read(4090, &mut [0; 8]), Err(Broken::Bounds));
    assert_eq!(Broken::Alignment.kind(), NorFlashErrorKind::NotAligned);
    assert_eq!(Broken::Bounds.kind(), NorFlashErrorKind::OutOfBounds);
    assert_eq!(part.counts().programs + part.counts().erases, 0);
}

#[test]
fn a_cut_leaves_its_share_and_then_nothing_goes() {
    for (share, whole) in [(Share::Nothing, 0xFF), (Share::All, 0x00)] {
        let mut part = Serial::new(1, 1);
        part.cut(Cut { after: 1, share });
        assert_eq!(part.write(0, &[0; 24]), Err(Broken::Off));
        assert_eq!(
            (part.is_on(), part.read(0, &mut [0]), part.erase(0, 4096)),
            (false, Err(Broken::Off), Err(Broken::Off))
        );
        part.power_on();
        let expected: Vec<u8> = [[0; 8], [whole; 8], [0xFF; 8]].concat();
        assert_eq!(bytes(&mut part, 0, 24), expected, "{share:?}");
    }
}

#[test]
fn a_half_programmed_word_does_not_hold_still_until_it_is_erased() {
    let mut part = Serial::new(1, 4);
    part.cut(Cut { after: 0, share: Share::Some });
    assert_eq!(part.write(0, &[0; 8]), Err(Broken::Off));
    part.power_on();
    let reads: std::collections::BTreeSet<Vec<u8>> = (0..50).map(|_| bytes(&mut part, 0, 8)).collect();
    assert!(reads.len() > 10, "{}", reads.len());
    part.erase(0, 4096).expect("a page");
    assert_eq!((bytes(&mut part, 0, 8), part.cells().unsteady()), (vec![0xFF; 8], 0));
}

#[test]
fn an_erase_cut_near_its_end_looks_blank_and_falls_back() {
    let mut part = Serial::new(2, 4);
    part.write(0, &[0; 64]).expect("blank");
    part.cut(Cut { after: 0, share: Share::AllBut });
    assert_eq!(part.erase(0, 4096), Err(Broken::Off));
    assert_eq!(part.cells().held()[..4096], [0xFF; 4096], "now");
    part.power_on();
    part.age();
    let zeros: u32 = bytes(&mut part, 0, 4096).iter().map(|byte| byte.count_zeros()).sum();
    assert!((40..400).contains(&zeros), "later: {zeros} bits");
    assert_eq!(bytes(&mut part, 4096, 4096), [0xFF; 4096], "the other page is as it was");
}

#[test]
fn a_bit_reads_otherwise_as_often_as_told() {
    for share in [0.1, 0.35, 0.6] {
        let mut part = Serial::new(1, 9);
        part.unsettle(11, share);
        let other = (0..20_000).filter(|_| bytes(&mut part, 0, 4) == [0xFF, 0xF7, 0xFF, 0xFF]).count();
        let found = other as f64 / 20_000.0;
        // Three standard deviations of so many draws are 0.0104 at most.
        assert!((found - share).abs() < 0.0104, "{share}: {found}");
    }
}

#[test]
fn a_page_wears_out_after_its_cycles_and_programs_can_be_left_out() {
    for told in [true, false] {
        let mut part = Serial::new(2, 1);
        part.wears(0, Worn { after: 3, told });
        for _ in 0..3 {
            part.erase(0, 4096).expect("not yet");
        }
        assert_eq!(part.erase(0, 4096), if told { Err(Broken::Worn) } else { Ok(()) });
        assert!(bytes(&mut part, 0, 4096).iter().any(|byte| *byte != 0xFF), "bits stay behind");
        assert_eq!(part.erase(4096, 8192), Ok(()));
    }
    let mut part = Serial::new(1, 1);
    part.ignore(1, 1);
    for at in [0, 8, 16] {
        part.write(at, &[0; 8]).expect("it says well");
    }
    assert_eq!(bytes(&mut part, 0, 24), [[0; 8], [0xFF; 8], [0; 8]].concat());
}

#[test]
fn time_and_operations_are_counted() {
    let (mut serial, mut internal) = (Serial::new(1, 1), Internal::new(1, 1));
    serial.write(0, &[0; 256]).expect("blank");
    internal.write(0, &[0; 8]).expect("blank");
    // 256 bytes in 0.7 ms, 8 bytes in 85 us; 4 KiB erased in 45 ms, 2 KiB in 22 ms.
    assert!((690_000..=710_000).contains(&serial.counts().ns), "{}", serial.counts().ns);
    assert!((84_000..=87_000).contains(&internal.counts().ns), "{}", internal.counts().ns);
    let (one, two) = (serial.counts().ns, internal.counts().ns);
    serial.erase(0, 4096).expect("a page");
    internal.erase(0, 2048).expect("a page");
    assert_eq!((serial.counts().ns - one, internal.counts().ns - two), (45_000_000, 22_000_000));
    assert_eq!((serial.counts().steps, serial.counts().programs, serial.counts().erases), (33, 1, 1));
}

#[test]
fn the_same_seed_gives_the_same_bits_and_a_copy_goes_on_alike() {
    let run = |seed| {
        let mut part = NorSim::<4, 1024>::new(2, seed);
        part.cut(Cut { after: 5, share: Share::Scattered });
        let _ = part.write(0, &[0x5A; 200]);
        part.power_on();
        let mut copy = part.clone();
        let reads = (bytes(&mut part, 0, 200), bytes(&mut part, 0, 200));
        assert_eq!(reads, (bytes(&mut copy, 0, 200), bytes(&mut copy, 0, 200)));
        assert_eq!(part, copy);
        reads
    };
    assert_eq!(run(3), run(3));
    assert_ne!(run(3), run(4));
}
