//! The external interrupts of the board: 32, all of them taken by the default handler. A generic table would have room for 240.

unsafe extern "C" {
    fn DefaultHandler();
}

/// One entry of the vector table for each interrupt of this board (Arm MPS2 with AN386, whose interrupt controller has 32; from memory, and as QEMU has it).
// SAFETY: the place and the name are those that cortex-m-rt's link script asks for, and each entry is a handler.
#[unsafe(link_section = ".vector_table.interrupts")]
#[unsafe(no_mangle)]
pub static __INTERRUPTS: [unsafe extern "C" fn(); 32] = [DefaultHandler; 32];
