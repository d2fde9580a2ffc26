"""The coolant, half of glycol by volume: properties, pressure drops, how it boils, and the wall of a round passage.

Sources: ASHRAE Handbook Fundamentals 2009, ch. 31 (properties, here as polynomials of its tables); IAPWS-IF97, eq. 31
(saturation of water); Gnielinski, Int. J. Heat Mass Transfer 63, 2013 (heat transfer).
"""

import numpy as np

FLOW = 14e-3 / 60  # m^3/s
PRESSURE = 180e3  # Pa, at the outlet of the unit
COLDEST = -30.0
FREEZING = -37.0


def density(t):
    return 1081.08 - t * (0.33815 + 2.4319e-3 * t)


def heat(t):
    return 3203.37 + 3.86212 * t


def conductivity(t):
    return 0.363779 + t * (9.0216e-4 - 3.8243e-6 * t)


def viscosity(t):
    x = 1000 / (t + 273.15)
    return np.exp(-24.6930 + x * (14.12385 + x * (-4.128387 + x * 0.478896)))


def capacity_rate(t):
    """W/K of the whole flow, with the density and heat of the coolant as it comes in."""
    return FLOW * density(t) * heat(t)


def leaves_cold(watts, share=1.0):
    """Temperature with which a share of the flow leaves where it came in as cold as it gets."""
    return COLDEST + watts / (share * capacity_rate(COLDEST))


class Drop:
    """Δp = k1·(μ/μ_s)·Q + k2·(ρ/ρ_s)·Q² through two points measured at 65 degC; flows in L/min, pressures in kPa."""

    def __init__(self, flows, pressures, flow):
        (q1, q2), (p1, p2) = flows, pressures
        k2 = (p2 / q2 - p1 / q1) / (q2 - q1)
        k1 = p1 / q1 - k2 * q1
        self.thick, self.heavy = 1e3 * k1 * flow / viscosity(65.0), 1e3 * k2 * flow**2 / density(65.0)

    def at(self, thickness, weight):
        return self.thick * thickness + self.heavy * weight


RISER = Drop((7, 14), (0.4, 1.4), 14)
# Both ways through the stacks have the same curve, so half of the coolant goes through each, cold or warm.
LEFT = Drop((3, 7), (3.2, 15), 7)
HALF_RIGHT = Drop((3, 7), (1.6, 7.5), 7)


def boiling(pressure, water=0.758):
    """Where half glycol boils: as water does at p/x, x the share of molecules that are water."""
    beta = (pressure / water / 1e6) ** 0.25
    e = beta * (beta - 17.073846940092) + 14.915108613530
    f = beta * (1167.0521452767 * beta + 12020.824702470) - 4823.2657361591
    g = beta * (-724213.16703206 * beta - 3232555.0322333) + 405113.40542057
    d = 2 * g / (-f - np.sqrt(f * f - 4 * e * g))
    a = 650.17534844798 + d
    return (a - np.sqrt(a * a - 4 * (-0.23855557567849 + 650.17534844798 * d))) / 2 - 273.15


def wall(inlet, outlet, watts, flow=FLOW / 2, bore=8e-3, length=0.6, count=2, concentration=2.0):
    """Hottest wetted wall of round passages, above the coolant that leaves."""
    t = (inlet + outlet) / 2
    thickness, weight, k = viscosity(t), density(t), conductivity(t)
    reynolds = flow / (count * np.pi / 4 * bore**2) * bore * weight / thickness
    prandtl = thickness * heat(t) / k

    def turbulent(re):
        friction = (0.79 * np.log(re) - 1.64) ** -2 / 8
        return friction * (re - 1000) * prandtl / (1 + 12.7 * np.sqrt(friction) * (np.cbrt(prandtl) ** 2 - 1))

    nusselt = turbulent(np.maximum(reynolds, 4000.0))
    share = np.clip((reynolds - 2300) / (4000 - 2300), 0.0, 1.0)
    nusselt = 4.364 + share * (nusselt - 4.364)
    area = count * np.pi * bore * length
    return outlet + concentration * watts * bore / (nusselt * k * area)
