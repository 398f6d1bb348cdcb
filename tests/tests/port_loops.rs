//! Converters: exact over every code, faulty wherever they do not answer, and each input on its own channel.

use embedded_hal::i2c::{ErrorKind, NoAcknowledgeSource};
use embedded_hal_mock::eh1::MockError;
use embedded_hal_mock::eh1::digital::{Mock as PinMock, State, Transaction as Pin};
use embedded_hal_mock::eh1::i2c::{Mock as I2cMock, Transaction as I2c};
use embedded_hal_mock::eh1::spi::{Mock as SpiMock, Transaction as Spi};
use proptest::prelude::*;
use valvewright_core::frame::{Analog, Scale, ScaleSample};
use valvewright_core::port::bridge::BridgeAdc;
use valvewright_core::port::contract::{Loops, Scales};
use valvewright_core::port::loops::*;
use valvewright_core::port::pins::Polarity;
use valvewright_core::sense::analog::{FAULT_HIGH, FAULT_LOW};

use crate::port_bench::{Dead, Dying};

/// One exchange on the SPI.
fn exchange(sent: &[u8], answered: &[u8]) -> [Spi<u8>; 3] {
    [Spi::transaction_start(), Spi::transfer_in_place(sent.to_vec(), answered.to_vec()), Spi::transaction_end()]
}

/// A converter whose channel numbers stand in the first byte, result right-justified in the last two.
fn layout<const CHANNELS: usize>(first: Analog, code: Code) -> SpiLayout<3, CHANNELS> {
    SpiLayout { first, requests: std::array::from_fn(|at| [0x80 | at as u8, 0, 0]), delayed: false, code }
}

#[test]
fn sixteen_bits_of_24_ma_pass_through_unchanged() {
    let codes = 0..=u16::MAX;
    let script: Vec<_> = codes
        .clone()
        .flat_map(|code| exchange(&[0x80, 0, 0], &[[0xFF].as_slice(), &code.to_be_bytes()].concat()))
        .collect();
    let mut spi = SpiMock::new(&script);
    let mut loops = SpiLoops::new(spi.clone(), layout::<1>(Analog::Pt1, Code::COUNTS));
    for code in codes.clone() {
        assert_eq!(loops.counts(Analog::Pt1), code);
    }
    spi.done();

    let script: Vec<_> =
        codes.clone().map(|code| I2c::write_read(0x48, vec![5], code.to_be_bytes().to_vec())).collect();
    let mut i2c = I2cMock::new(&script);
    let layout = I2cLayout { first: Analog::Tt1, address: 0x48, registers: [5], code: Code::COUNTS };
    let mut loops = I2cLoops::new(i2c.clone(), layout);
    for code in codes {
        assert_eq!(loops.counts(Analog::Tt1), code);
    }
    i2c.done();
}

#[test]
fn other_codes_are_scaled_to_the_nearest_count() {
    // Worked by hand: 12 bits of 25 mA, 4 mA is code 655.2; 655 x 25 / 4 095 / 24 x 65 535 = 10 919.16
    let code = Code { low_bit: 0, bits: 12, signed: false, full_scale: 25_000 };
    assert_eq!((code.counts(0), code.counts(655), code.counts(4_095)), (0, 10_919, u16::MAX));
    // Left-justified in 16 bits with four bits of status below, which do not count.
    assert_eq!(Code { low_bit: 4, ..code }.counts(655 << 4 | 0xF), 10_919);
    // Two's complement, 16 bits: 32 767 at 24 mA, and a little below zero on a broken wire is no current, not full scale.
    let signed = Code { signed: true, ..Code::COUNTS };
    assert_eq!((signed.counts(0x7FFF), signed.counts(0xFFFF), signed.counts(0x8000)), (u16::MAX, 0, 0));
    // 16 384 / 32 767 x 65 535 = 32 768.5, and half a count goes up.
    assert_eq!(signed.counts(0x4000), 32_769);
    // 24 bits of 30 mA: 20 mA is code 11 184 810, two thirds of the highest, and 54 612.5 counts.
    assert_eq!(Code { bits: 24, full_scale: 30_000, ..code }.counts(11_184_810), 54_613);
}

proptest! {
    /// Against the same sum done in 128 bits, for every way a code may stand; what makes no sense reads as a fault.
    #[test]
    fn any_layout_is_right_or_faulty(
        low_bit in 0u8..=255, bits in 0u8..=40, signed: bool, full_scale in 0u32..2_000_000, received: u64
    ) {
        let counts = Code { low_bit, bits, signed, full_scale }.counts(received);
        let wide = u32::from(bits.min(24));
        let field = if low_bit < 64 { u128::from(received >> low_bit) & ((1 << wide) - 1) } else { 0 };
        let highest = (1u128 << if signed { wide.saturating_sub(1) } else { wide }) - 1;
        let due = if highest == 0 || field > highest {
            0
        } else {
            let (above, below) = (field * u128::from(full_scale.min(1_000_000)) * 65_535, highest * 24_000);
            ((2 * above + below) / (2 * below)).min(65_535)
        };
        prop_assert_eq!(u128::from(counts), due);
    }
}

#[test]
fn each_input_is_asked_on_its_own_channel() {
    let script: Vec<_> = [0u8, 3, 1].iter().flat_map(|at| exchange(&[0x80 | at, 0, 0], &[0, 0x40, *at])).collect();
    let mut spi = SpiMock::new(&script);
    let mut loops = SpiLoops::new(spi.clone(), layout::<4>(Analog::Tt2, Code::COUNTS));
    assert_eq!(loops.counts(Analog::Tt2), 0x4000);
    assert_eq!(loops.counts(Analog::At2), 0x4003);
    assert_eq!(loops.counts(Analog::Tt3), 0x4001);
    // Not on this converter, on either side: nothing is asked.
    assert_eq!((loops.counts(Analog::Tt1), loops.counts(Analog::It1)), (0, 0));
    spi.done();
}

#[test]
fn a_converter_that_answers_late_is_asked_twice() {
    let old = exchange(&[0x80, 0, 0], &[0, 0x11, 0x11]);
    let new = exchange(&[0x80, 0, 0], &[0, 0x22, 0x22]);
    let mut spi = SpiMock::new(&[old, new].concat());
    let mut loops = SpiLoops::new(spi.clone(), SpiLayout { delayed: true, ..layout::<1>(Analog::Pt1, Code::COUNTS) });
    assert_eq!(loops.counts(Analog::Pt1), 0x2222);
    spi.done();
}

#[test]
fn a_converter_that_does_not_answer_is_a_broken_wire() {
    for delayed in [false, true] {
        let layout = SpiLayout { delayed, ..layout::<1>(Analog::Pt1, Code::COUNTS) };
        assert_eq!(SpiLoops::new(Dead::default(), layout).counts(Analog::Pt1), 0);
    }
    let nobody = ErrorKind::NoAcknowledge(NoAcknowledgeSource::Address);
    let mut i2c = I2cMock::new(&[I2c::write_read(0x48, vec![5], vec![0x55, 0x55]).with_error(nobody)]);
    let layout = I2cLayout { first: Analog::Pt1, address: 0x48, registers: [5], code: Code::COUNTS };
    let mut loops = I2cLoops::new(i2c.clone(), layout);
    assert_eq!(loops.counts(Analog::Pt1), 0);
    assert_eq!(loops.counts(Analog::Pt2), 0, "no such channel, nothing asked");
    i2c.done();
    // Zero counts lie in the fault band, and so does a line that reads all ones.
    let open_line = Code::COUNTS.counts(u64::MAX);
    assert!(FAULT_LOW > 0 && open_line >= FAULT_HIGH, "{FAULT_LOW} {open_line}");
}

#[test]
fn two_converters_share_the_inputs() {
    let mut spi = SpiMock::new(&exchange(&[0x88, 0, 0], &[0, 0, 1]));
    let mut i2c =
        I2cMock::new(&[I2c::write_read(0x48, vec![0x10], vec![0, 2]), I2c::write_read(0x48, vec![0x14], vec![0, 3])]);
    let layout_high =
        I2cLayout { first: Analog::At2, address: 0x48, registers: [0x10, 0x11, 0x12, 0x13, 0x14], code: Code::COUNTS };
    let mut loops = Pair {
        low: SpiLoops::new(spi.clone(), layout::<9>(Analog::Pt1, Code::COUNTS)),
        split: Analog::At2,
        high: I2cLoops::new(i2c.clone(), layout_high),
    };
    assert_eq!([Analog::Tt4, Analog::At2, Analog::Et2].map(|input| loops.counts(input)), [1, 2, 3]);
    spi.done();
    i2c.done();
}

/// What a bridge reads of its line: each conversion, and whether the ready pin says that there is one.
fn bridge(conversions: &[Option<[u8; 3]>]) -> (SpiMock<u8>, PinMock) {
    let ready = |there: bool| Pin::get(if there { State::Low } else { State::High });
    let pins: Vec<_> = conversions.iter().map(|one| ready(one.is_some())).collect();
    let reads: Vec<_> = conversions
        .iter()
        .flatten()
        .flat_map(|bytes| [Spi::transaction_start(), Spi::read_vec(bytes.to_vec()), Spi::transaction_end()])
        .collect();
    (SpiMock::new(&reads), PinMock::new(&pins))
}

#[test]
fn a_bridge_carries_its_sign_and_counts_new_conversions_only() {
    let (mut spi, mut pin) = bridge(&[
        None,
        Some([0, 0, 1]),
        None,
        Some([0xFF, 0xFF, 0xFF]),
        Some([0x80, 0, 0]),
        Some([0x7F, 0xFF, 0xFF]),
        Some([0x7F, 0xFF, 0xFF]),
    ]);
    let mut adc = BridgeAdc::new(spi.clone(), pin.clone(), Polarity::ActiveLow);
    let samples = [(); 7].map(|()| adc.convert()).map(|sample| (sample.code, sample.sequence));
    assert_eq!(
        samples,
        [(0, 0), (1, 1), (1, 1), (-1, 2), (-8_388_608, 3), (8_388_607, 4), (8_388_607, 5)],
        "the same code again is a new conversion all the same"
    );
    spi.done();
    pin.done();
}

#[test]
fn the_sequence_of_a_bridge_wraps() {
    let (mut spi, mut pin) = bridge(&[Some([1, 2, 3]); 257]);
    let mut adc = BridgeAdc::new(spi.clone(), pin.clone(), Polarity::ActiveLow);
    let last = (0..257).map(|_| adc.convert()).last();
    assert_eq!(last, Some(ScaleSample { code: 0x01_02_03, sequence: 1 }));
    spi.done();
    pin.done();
}

#[test]
fn a_bridge_whose_line_fails_repeats_its_sample() {
    // The ready pin fails: the SPI is not even asked.
    let lost = MockError::Io(std::io::ErrorKind::NotConnected);
    let mut pin = PinMock::new(&[Pin::get(State::Low), Pin::get(State::Low).with_error(lost)]);
    let mut spi = SpiMock::new(&[Spi::transaction_start(), Spi::read_vec(vec![0, 1, 0]), Spi::transaction_end()]);
    let mut adc = BridgeAdc::new(spi.clone(), pin.clone(), Polarity::ActiveLow);
    let sample = ScaleSample { code: 256, sequence: 1 };
    assert_eq!([adc.convert(), adc.convert()], [sample; 2]);
    spi.done();
    pin.done();
    // The SPI fails although the pin says ready.
    let mut pin = PinMock::new(&[Pin::get(State::High), Pin::get(State::High)]);
    let mut adc = BridgeAdc::new(Dying { sample: [0, 1, 0], calls: 0 }, pin.clone(), Polarity::ActiveHigh);
    assert_eq!([adc.convert(), adc.convert()], [sample; 2]);
    pin.done();
}

#[test]
fn four_bridges_are_the_scales() {
    let mut lines = [1u8, 2, 3, 4].map(|at| bridge(&[Some([0, 0, at])]));
    let mut scales = lines.clone().map(|(spi, pin)| BridgeAdc::new(spi, pin, Polarity::ActiveLow));
    let codes =
        [Scale::Wt3, Scale::Wt1A, Scale::Wt2, Scale::Wt1B].map(|which| Scales::convert(&mut scales, which).code);
    assert_eq!(codes, [4, 1, 3, 2]);
    for (spi, pin) in &mut lines {
        spi.done();
        pin.done();
    }
}
