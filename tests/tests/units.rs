//! Laws of the integer quantities: sums and differences are held at the limits of the type, and time survives its wrap.

use proptest::prelude::*;
use valvewright_core::units::*;

/// Values at and near the limits as well as anywhere: the laws break there first.
fn any_i32() -> impl Strategy<Value = i32> {
    prop_oneof![any::<i32>(), Just(i32::MAX), Just(i32::MIN), -1_000..1_000, i32::MAX - 1_000..i32::MAX]
}

fn held(wide: i64) -> i32 {
    wide.clamp(i64::from(i32::MIN), i64::from(i32::MAX)) as i32
}

proptest! {
    #[test]
    fn sums_are_exact_or_held_at_the_limit(a in any_i32(), b in any_i32()) {
        let (sum, difference) = (i64::from(a) + i64::from(b), i64::from(a) - i64::from(b));
        prop_assert_eq!(Milligram(a).plus(Milligram(b)), Milligram(held(sum)));
        prop_assert_eq!(Milligram(a).minus(Milligram(b)), Milligram(held(difference)));
        prop_assert_eq!(AbsPa(a).checked_plus(AbsPa(b)), i32::try_from(sum).ok().map(AbsPa));
        prop_assert_eq!(AbsPa(a).checked_minus(AbsPa(b)), i32::try_from(difference).ok().map(AbsPa));
    }

    #[test]
    fn spans_never_turn_negative(a in any::<u32>(), b in any::<u32>()) {
        prop_assert_eq!(Millis(a).minus(Millis(b)), Millis(u32::try_from(i64::from(a) - i64::from(b)).unwrap_or(0)));
        prop_assert_eq!(Millis(a).plus(Millis(b)), Millis(u32::try_from(u64::from(a) + u64::from(b)).unwrap_or(u32::MAX)));
    }

    #[test]
    fn more_and_less_are_the_two_values(a in any_i32(), b in any_i32()) {
        let (more, less) = (CentiKelvin(a).or_more(CentiKelvin(b)), CentiKelvin(a).or_less(CentiKelvin(b)));
        prop_assert!(more >= less);
        prop_assert_eq!(i64::from(more.0) + i64::from(less.0), i64::from(a) + i64::from(b));
    }

    /// Fault F096: the tick wraps after 49.7 days, and no wait is endless or over because of it.
    /// Shows F096, LC7.
    #[test]
    fn time_since_is_right_across_the_wrap(start in any::<u32>(), span in any::<u32>()) {
        prop_assert_eq!(Instant(start).after(Millis(span)).since(Instant(start)), Millis(span));
    }

    #[test]
    fn whole_grams_are_the_nearest(mg in any_i32()) {
        let grams = Milligram(mg).to_grams();
        // Near the ends of the type the half gram for rounding is held back.
        prop_assert!((i64::from(grams) * 1000 - i64::from(mg)).abs() <= 1_000, "{} mg are no {} g", mg, grams);
        if mg.unsigned_abs() < 2_147_000_000 {
            prop_assert!((i64::from(grams) * 1000 - i64::from(mg)).abs() <= 500, "{} mg are no {} g", mg, grams);
        }
    }

    #[test]
    fn gauge_and_celsius_come_back(p in 0..10_000_000i32, air in 50_000..120_000i32, t in -27_315..100_000i32) {
        prop_assert_eq!(AbsPa(p).to_gauge(AbsPa(air)).to_abs(AbsPa(air)), AbsPa(p));
        prop_assert_eq!(CentiKelvin::from_centi_celsius(t).to_centi_celsius(), t);
    }
}

#[test]
fn whole_units_are_held_at_the_limit_too() {
    assert_eq!(Milligram::from_grams(2_147_484), Milligram::MAX);
    assert_eq!(Milligram::from_grams(-1), Milligram(-1_000));
    assert_eq!(Millis::from_secs(u32::MAX), Millis::MAX);
    assert_eq!(Millis(1_999).to_secs(), 1);
}
