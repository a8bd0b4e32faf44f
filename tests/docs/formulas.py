"""Textbook formulas that the pages are compared with, written down here once more and in another
language, so that they share nothing with the program.

exp(+j w t); permittivity, conductivity and frequency in SI units. Sources: C. A. Balanis,
Advanced Engineering Electromagnetics, chs. 4 and 5 (plane waves, layers); Antenna Theory,
ch. 2 (link); chapters from memory. Constants: CODATA 2018 (E. Tiesinga et al., Rev. Mod. Phys.
93 (2021) 025010), from memory; c and k exact by definition.
"""

import cmath
import math

C = 299792458.0
EPS0 = 8.8541878128e-12
MU0 = 1.0 / (EPS0 * C * C)
ETA0 = MU0 * C
BOLTZMANN = 1.380649e-23


def relative_permittivity(f, permittivity, conductivity):
    return permittivity - 1j * conductivity / (2 * math.pi * f * EPS0)


def wave_number(f, eps):
    """k = beta - j alpha [rad/m]."""
    return 2 * math.pi * f / C * cmath.sqrt(eps)


def wavelength(f, eps):
    return 2 * math.pi / wave_number(f, eps).real


def penetration_depth(f, eps):
    """Where the field has fallen to 1/e [m]."""
    return -1.0 / wave_number(f, eps).imag


def layers(f, stack, last):
    """Reflection of E at the first face, seen from air, and the share of the power that passes
    the last face: impedances from the last medium to the first (transmission line).
    \\param stack  (thickness, eps) from the first face on  \\param last  eps behind it"""
    impedance = ETA0 / cmath.sqrt(last)
    entering_to_leaving = 1.0
    for thickness, eps in reversed(stack):
        own = ETA0 / cmath.sqrt(eps)
        turn = 1j * wave_number(f, eps) * thickness
        ahead = (impedance - own) / (impedance + own)
        near = own * (1 + ahead * cmath.exp(-2 * turn)) / (1 - ahead * cmath.exp(-2 * turn))
        # E behind the layer over E before it; the power goes with |E|^2 Re(1/Z).
        field = (1 + ahead) / (cmath.exp(turn) + ahead * cmath.exp(-turn))
        entering_to_leaving *= (abs(field) ** 2 * (1 / impedance).real / (1 / near).real)
        impedance = near
    reflection = (impedance - ETA0) / (impedance + ETA0)
    return reflection, (1 - abs(reflection) ** 2) * entering_to_leaving


def bare_line_intensity(f):
    """What a line current of 1 A (peak) radiates into each radian in free space [W/m/rad]:
    its power w mu0/8 per metre over 2 pi (R. F. Harrington, Time-Harmonic Electromagnetic
    Fields, ch. 5, from memory)."""
    return 2 * math.pi * f * MU0 / (16 * math.pi)


def free_space_gain_db(f, distance):
    """H. T. Friis, Proc. IRE 34 (1946) 254-256 (from memory)."""
    return -20 * math.log10(4 * math.pi * distance * f / C)


def noise_dbm(temperature, bandwidth):
    return 10 * math.log10(BOLTZMANN * temperature * bandwidth / 1e-3)
