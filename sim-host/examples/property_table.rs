//! A property table: saturation of both refrigerants from -20 to 60 degC, as CSV.
//!
//! `cargo run --release -p valvewright-sim --example property_table > saturation.csv`

use valvewright_sim::fluid::{Fluid, FluidKind};

fn main() {
    println!("fluid,t_degC,p_bar,rho_liquid_kg_m3,rho_vapour_kg_m3,latent_heat_kJ_kg");
    for kind in FluidKind::ALL {
        let fluid = Fluid::get(kind);
        for step in -4..=12 {
            let celsius = f64::from(step) * 5.0;
            let sat = fluid.sat(celsius + 273.15);
            let latent = (sat.h_v - sat.h_l) * 1e-3;
            println!("{},{celsius},{:.4},{:.2},{:.3},{latent:.2}", kind.label(), sat.p * 1e-5, sat.rho_l, sat.rho_v);
        }
    }
}
