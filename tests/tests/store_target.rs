//! The life of a record store that the emulated board lives, lived on the host: both have to end with what is on record in
//! `tests/data/store_life.txt`; `tests/target/check.sh` compares the board's.

#[path = "../target/board/src/nor.rs"]
#[allow(dead_code)]
mod nor;
#[path = "../target/board/src/store_life.rs"]
mod store_life;

/// Shows LC8.
#[test]
fn the_store_lives_on_the_host_as_on_the_board() {
    let mut cells = vec![0xFF; store_life::BYTES];
    let life = store_life::live(&mut nor::Nor::new(&mut cells)).expect("a part without faults");
    assert_eq!(life.wrong, 0, "starts that found what was never stored");
    assert!(life.cuts > 50 && life.stored > 500, "{life:?}");
    let told = format!(
        "digest_high {:08x}\ndigest_low {:08x}\nstored {:08x}\ncuts {:08x}\nwrong {:08x}\n",
        life.digest >> 32,
        life.digest & 0xFFFF_FFFF,
        life.stored,
        life.cuts,
        life.wrong
    );
    let record = concat!(env!("CARGO_MANIFEST_DIR"), "/data/store_life.txt");
    let known = std::fs::read_to_string(record).unwrap_or_default();
    assert_eq!(told, known, "what is on record in tests/data/store_life.txt");
}
