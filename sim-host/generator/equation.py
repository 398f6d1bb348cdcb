"""One refrigerant's published equation of state, through CoolProp, on the IIR reference (h=200 kJ/kg, s=1 kJ/kg/K at 0 degC).

R-1234yf: Lemmon & Akasaka, Int J Thermophys 2022. R-134a: Tillner-Roth & Baehr, J Phys Chem Ref Data 1994.
The reference offset is applied here and not with set_reference_state, whose effect depends on the order of calls.
"""

import CoolProp.CoolProp as CP

T_ICE = 273.15


class Equation:
    """Mass-based SI values of one fluid."""

    def __init__(self, name):
        self.name = name
        self.s_ = CP.AbstractState("HEOS", name)
        s = self.s_
        self.molar_mass = s.molar_mass()
        self.r = s.gas_constant() / self.molar_mass
        self.t_crit, self.p_crit, self.rho_crit = s.T_critical(), s.p_critical(), s.rhomass_critical()
        s.update(CP.QT_INPUTS, 0, T_ICE)
        self.h_off, self.s_off = 200e3 - s.hmass(), 1e3 - s.smass()

    def sat(self, t):
        """Both saturated phases at t: dict of p, dp and, per phase, (rho, u, s, drho, du, ds), slopes along the line."""
        out = {}
        for key, q in (("l", 0), ("v", 1)):
            s = self.s_
            s.unspecify_phase()
            s.update(CP.QT_INPUTS, q, t)
            p, rho, h = s.p(), s.rhomass(), s.hmass() + self.h_off
            dp = s.first_saturation_deriv(CP.iP, CP.iT)
            drho = s.first_saturation_deriv(CP.iDmass, CP.iT)
            dh = s.first_saturation_deriv(CP.iHmass, CP.iT)
            ds = s.first_saturation_deriv(CP.iSmass, CP.iT)
            du = dh - dp / rho + p * drho / rho**2
            out[key] = (rho, h - p / rho, s.smass() + self.s_off, drho, du, ds)
            if q == 0:
                out["p"], out["dp"] = p, dp
        return out

    def single(self, rho, t, phase):
        """(p, u, s, cv, dp/dT at rho, dp/drho at t) of a single-phase state."""
        s = self.s_
        s.specify_phase(phase)
        s.update(CP.DmassT_INPUTS, rho, t)
        out = (
            s.p(),
            s.umass() + self.h_off,
            s.smass() + self.s_off,
            s.cvmass(),
            s.first_partial_deriv(CP.iP, CP.iT, CP.iDmass),
            s.first_partial_deriv(CP.iP, CP.iDmass, CP.iT),
        )
        s.unspecify_phase()
        return out

    def liquid(self, rho, t):
        """Compressed liquid; see single()."""
        return self.single(rho, t, CP.iphase_liquid)

    def liquid_rho(self, p, t):
        """Density of the liquid at p and t."""
        s = self.s_
        s.specify_phase(CP.iphase_liquid if t < self.t_crit else CP.iphase_supercritical_liquid)
        s.update(CP.PT_INPUTS, p, t)
        rho = s.rhomass()
        s.unspecify_phase()
        return rho

    def sat_flow(self, t):
        """(viscosity of the liquid, density of the vapour, rho a^2 / p of the vapour) on the saturation line, a the speed of sound."""
        s = self.s_
        s.unspecify_phase()
        s.update(CP.QT_INPUTS, 0, t)
        mu_l = s.viscosity()
        s.update(CP.QT_INPUTS, 1, t)
        return mu_l, s.rhomass(), s.rhomass() * s.speed_sound() ** 2 / s.p()

    def gas_viscosity(self, rho, t):
        """Viscosity of the gas at (rho, t)."""
        return self.viscosity(rho, t, CP.iphase_gas)

    def liquid_viscosity(self, rho, t):
        """Viscosity of the liquid at (rho, t)."""
        return self.viscosity(rho, t, CP.iphase_liquid)

    def viscosity(self, rho, t, phase):
        """Viscosity of a single-phase state."""
        s = self.s_
        s.specify_phase(phase)
        s.update(CP.DmassT_INPUTS, rho, t)
        mu = s.viscosity()
        s.unspecify_phase()
        return mu

    def residual(self, rho, t):
        """Residual Helmholtz terms at (rho, t): a, delta a_d, tau a_t, dp/drho / (R t)."""
        s = self.s_
        s.specify_phase(CP.iphase_gas)
        s.update(CP.DmassT_INPUTS, rho, t)
        d, tau = s.delta(), s.tau()
        out = (
            s.alphar(),
            d * s.dalphar_dDelta(),
            tau * s.dalphar_dTau(),
            1 + 2 * d * s.dalphar_dDelta() + d * d * s.d2alphar_dDelta2(),
        )
        s.unspecify_phase()
        return out

    def ideal(self, t):
        """(u0, cv0, s0 at 1 kg/m3) of the ideal gas."""
        s = self.s_
        s.specify_phase(CP.iphase_gas)
        s.update(CP.DmassT_INPUTS, 1.0, t)
        tau = s.tau()
        u0 = self.r * t * tau * s.dalpha0_dTau() + self.h_off
        cv0 = -self.r * tau * tau * s.d2alpha0_dTau2()
        s0 = self.r * (tau * s.dalpha0_dTau() - s.alpha0()) + self.s_off
        s.unspecify_phase()
        return u0, cv0, s0
