"""What the tool says to each page of docs that is run, and what textbooks say to that.

A function for each page: it reads what the page's commands wrote and printed, and returns the
numbers that the page prints, by name, and the comparisons with formulas.
"""

import csv
import json
import math
import re
import subprocess

import formulas as fo


class Check:
    """The tool's value beside a formula's. \\param bound  largest relative difference"""

    def __init__(self, what, tool, formula, bound):
        self.what, self.tool, self.formula, self.bound = what, tool, formula, bound

    def difference(self):
        return abs(self.tool - self.formula) / abs(self.formula)

    def holds(self):
        return self.difference() <= self.bound

    def __str__(self):
        return (f"{self.what}: {self.tool:.7g}, by the formula {self.formula:.7g}; differs by "
                f"{self.difference():.1e}, allowed {self.bound:.1e}")


class Answers:
    def __init__(self):
        self.numbers, self.checks = {}, []

    def check(self, *arguments):
        self.checks.append(Check(*arguments))


def floats(text):
    """All numbers in what a block printed, line by line."""
    return [[float(word) for word in re.findall(r"-?\d+\.?\d*(?:e[-+]?\d+)?", line)]
            for line in text.splitlines()]


def tables(text):
    """The tables over frequency that `torsowave slab` printed: rows by frequency [MHz]."""
    found = []
    for part in text.split("Plane wave from")[1:]:
        rows = [line.split() for line in part.splitlines()]
        found.append({float(row[0]): [float(word) for word in row] for row in rows
                      if len(row) > 4 and all(re.fullmatch(r"-?[\d.]+", word) for word in row)})
    return found


def summary(work, folder):
    return json.loads((work.folder / folder / "summary.json").read_text())


def fit_error(run, tissue):
    return next(m["fit_max_relative_error"] for m in run["materials"] if m["tissue"] == tissue)


def tissue(work, name, f):
    """The tool's own table at one frequency."""
    done = subprocess.run([work.program, "tissue", name, "--frequency", f"{f}Hz", "--json"],
                          capture_output=True, text=True, check=True)
    return json.loads(done.stdout)["tissues"][0]["frequencies"][0]


def permittivity(work, name, f):
    row = tissue(work, name, f)
    return fo.relative_permittivity(f, row["permittivity"], row["conductivity_s_per_m"])


def free_space(work):
    found = Answers()
    run = summary(work, "1-free-space-result")
    for line, at in zip(floats(work.printed[1]), run["frequencies"]):
        megahertz, wavelength, field = line
        name, f = f"{megahertz:.0f}", at["frequency_hz"]
        power = at["source_power_w_per_m"]
        found.numbers |= {f"wavelength_{name}": wavelength, f"field_{name}": field,
                          f"power_{name}": power}
        # Cells of 1 mm: (k dx)^2/8 of the power is the grid's, 2.2e-4 at 2 GHz.
        found.check(f"wavelength at {name} MHz [mm]", wavelength, 1e3 * fo.C / f, 1e-5)
        found.check(f"field at {name} MHz [V/m]", field, fo.ETA0 / 2, 3e-4)
        found.check(f"power at {name} MHz [W/m2]", power, fo.ETA0 / 4, 3e-4)
        found.numbers["to_the_left"] = 100 * at["slab"]["into_first"]
    found.numbers["grid"] = 100 * (1 - power / (fo.ETA0 / 4))
    found.check("share to the left [%]", found.numbers["to_the_left"], 50, 1e-6)
    air = tissue(work, "air", 403.5e6)["wavelength_m"]
    found.numbers |= {"exercise_wavelength": 1e3 * air, "exercise_waves": 2 / air}
    found.check("wavelength in air [mm]", 1e3 * air, 1e3 * fo.C / 403.5e6, 1e-9)
    return found


def entering_muscle(work):
    found = Answers()
    f = 2.45e9
    (wavelength, speed), = floats(work.printed[1])
    fit = fit_error(summary(work, "2-entering-muscle-result"), "muscle")
    rows = {name: tissue(work, name, f)
            for name in ("air", "muscle", "fat_not_infiltrated", "blood")}
    length = {name: 1e3 * row["wavelength_m"] for name, row in rows.items()}
    found.numbers = {
        "in_air": length["air"], "by_the_table": length["muscle"], "in_the_run": wavelength,
        "speed_in_air": rows["air"]["phase_velocity_m_per_s"] / 1e6,
        "speed_by_the_table": rows["muscle"]["phase_velocity_m_per_s"] / 1e6,
        "speed_in_the_run": speed / 1e6, "ratio": length["air"] / wavelength,
        "permittivity": rows["muscle"]["permittivity"],
        "conductivity": rows["muscle"]["conductivity_s_per_m"],
        "fit_error": 100 * fit,
        "difference": 100 * abs(wavelength / length["muscle"] - 1),
        "in_fat": length["fat_not_infiltrated"],
        "fat_ratio": length["air"] / length["fat_not_infiltrated"], "in_blood": length["blood"]}
    eps = permittivity(work, "muscle", f)
    # k goes with the root of eps: half the fit's error, and 1e-4 for the grid.
    found.check("wavelength in muscle, run [mm]", wavelength, 1e3 * fo.wavelength(f, eps),
                fit / 2 + 1e-4)
    found.check("speed in muscle, run [m/s]", speed, f * fo.wavelength(f, eps), fit / 2 + 1e-4)
    for name in ("muscle", "fat_not_infiltrated", "blood"):
        found.check(f"wavelength in {name}, table [mm]", length[name],
                    1e3 * fo.wavelength(f, permittivity(work, name, f)), 1e-9)
    return found


def skin_depth(work):
    found, difference = Answers(), 0.0
    fit = fit_error(summary(work, "3-skin-depth-result"), "muscle")
    for megahertz, depth in floats(work.printed[1]):
        f, name = 1e6 * megahertz, f"{int(megahertz)}"
        eps = permittivity(work, "muscle", f)
        row = tissue(work, "muscle", f)
        loss = row["attenuation_db_per_m"]
        found.numbers |= {f"run_{name}": depth, f"table_{name}": 1e3 * row["penetration_depth_m"],
                          f"loss_{name}": 0.01 * loss, f"wave_{name}": loss * row["wavelength_m"]}
        difference = max(difference, abs(1e-3 * depth / row["penetration_depth_m"] - 1))
        # alpha is one part of k, which may be off by half the fit's error of all of |k|; the
        # cells add (|k| dx)^2/24 of it.
        k = fo.wave_number(f, eps)
        bound = abs(k) / -k.imag * (fit / 2 + (abs(k) * 0.25e-3) ** 2 / 24)
        found.check(f"depth at {name} MHz, run [mm]", depth, 1e3 * fo.penetration_depth(f, eps),
                    bound)
        found.check(f"depth at {name} MHz, table [mm]", 1e3 * row["penetration_depth_m"],
                    1e3 * fo.penetration_depth(f, eps), 1e-9)
    found.numbers["difference"] = 100 * difference
    sigma = tissue(work, "muscle", 2.45e9)["conductivity_s_per_m"]
    found.numbers["metal_2450"] = 1e3 * math.sqrt(2 / (2 * math.pi * 2.45e9 * fo.MU0 * sigma))
    slab, = tables(work.printed[3])
    for name, megahertz in (("403", 403.5), ("2450", 2450)):
        _, _, _, _, entry, depth = slab[megahertz]
        found.numbers |= {f"entry_{name}": -entry, f"exercise_{name}": depth}
        f = 1e6 * megahertz
        eps = permittivity(work, "muscle", f)
        _, passed = fo.layers(f, [], eps)
        alpha_db = 20 * math.log10(math.e) / fo.penetration_depth(f, eps)
        found.check(f"depth of 40 dB at {name} MHz [mm]", depth,
                    1e3 * (40 + 10 * math.log10(passed)) / alpha_db, 1e-5)
    return found


def fat_matches(work):
    found = Answers()
    f = 2.45e9
    skin, fat, muscle = (permittivity(work, name, f)
                         for name in ("skin_dry", "fat_not_infiltrated", "muscle"))
    shown = {1, 3, 5, 7, 11, 17, 23, 29}
    least, worst = 100.0, 0.0
    with open(work.folder / "4-fat-thickness-result" / "table.csv", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            thickness = round(float(row["body.layers[1].thickness [mm]"]))
            reflected, passed = (float(row[f"slab.{name}"])
                                 for name in ("reflectance", "transmittance"))
            least = min(least, 100 * passed)
            if thickness in shown:
                found.numbers |= {f"reflected_{thickness}": 100 * reflected,
                                  f"muscle_{thickness}": 100 * passed}
            r, through = fo.layers(f, [(2e-3, skin), (1e-3 * thickness, fat)], muscle)
            worst = max(worst, abs(10 * math.log10(passed / through)),
                        abs(10 * math.log10(reflected / abs(r) ** 2)))
            # The run's own +- is the bound.
            for what, tool, formula in (("transmittance", passed, through),
                                        ("reflectance", reflected, abs(r) ** 2)):
                decibels = float(row[f"slab.uncertainty_db.{what} [dB]"])
                found.check(f"{what}, {thickness} mm of fat", tool, formula,
                            10 ** (decibels / 10) - 1)
    found.numbers |= {"muscle_least": least, "largest_difference": worst,
                      "half_wave": 500 * fo.wavelength(f, fat)}
    bare, slab = tables(work.printed[2])
    for name, megahertz in (("403", 403.5), ("915", 915), ("2450", 2450)):
        found.numbers |= {f"exercise_{name}": slab[megahertz][5], f"bare_{name}": bare[megahertz][3]}
        stack = [(t, permittivity(work, tissue_name, 1e6 * megahertz))
                 for t, tissue_name in ((2e-3, "skin_dry"), (10e-3, "fat_not_infiltrated"))]
        _, through = fo.layers(1e6 * megahertz, stack,
                               permittivity(work, "muscle", 1e6 * megahertz))
        found.check(f"slab: into muscle at {name} MHz [%]", slab[megahertz][5], 100 * through,
                    5e-4)  # four digits are printed
    return found


def standing_wave(work):
    found = Answers()
    run = summary(work, "5-standing-wave-result")
    for (megahertz, ratio, apart, _), at in zip(floats(work.printed[1]), run["frequencies"]):
        f, name = 1e6 * megahertz, f"{megahertz:.0f}"
        reflected = at["slab"]["reflectance"]
        found.numbers |= {f"ratio_{name}": ratio, f"apart_{name}": apart,
                          f"half_{name}": 500 * fo.C / f, f"reflected_{name}": 100 * reflected}
        # A dip is read off to half a cell of 0.5 mm, where |E|^2 is above the smallest by
        # 4 |r| (k dx/2)^2; two cells in the distance of the dips.
        r, _ = fo.layers(f, [], permittivity(work, "muscle", f))
        off = 4 * abs(r) * (2 * math.pi * f / fo.C * 0.25e-3) ** 2 / (1 - abs(r)) ** 2
        r_error = at["slab"]["uncertainty_db"]["reflectance"] / 8.686 * 2 * abs(r) / (1 - abs(r) ** 2)
        found.check(f"standing-wave ratio at {name} MHz", ratio, (1 + abs(r)) / (1 - abs(r)),
                    off + r_error)
        found.check(f"distance of dips at {name} MHz [mm]", apart, 500 * fo.C / f,
                    1.0 / (500 * fo.C / f))
        found.check(f"reflectance at {name} MHz", reflected, abs(r) ** 2,
                    10 ** (at["slab"]["uncertainty_db"]["reflectance"] / 10) - 1)
    slab, = tables(work.printed[2])
    share = slab[2100][1] / 100
    found.numbers |= {"layers_reflected": 100 * share,
                      "layers_ratio": (1 + math.sqrt(share)) / (1 - math.sqrt(share))}
    stack = [(t, permittivity(work, name, 2.1e9))
             for t, name in ((2e-3, "skin_dry"), (10e-3, "fat_not_infiltrated"))]
    r, _ = fo.layers(2.1e9, stack, permittivity(work, "muscle", 2.1e9))
    found.check("slab: reflected by the layers at 2.1 GHz", share, abs(r) ** 2, 5e-4)
    return found


def source_inside(work):
    found = Answers()
    run = summary(work, "6-source-inside-result")
    fit = fit_error(run, "muscle")
    for at in run["frequencies"]:
        name, slab = f"{int(at['frequency_hz'] / 1e6)}", at["slab"]
        skin, fat = slab["absorbed_by_layer"]
        shares = {"air": slab["into_first"], "skin": skin, "fat": fat, "muscle": slab["into_last"]}
        found.numbers |= {f"{medium}_{name}": 100 * share for medium, share in shares.items()}
        found.check(f"shares at {name} MHz, sum", sum(shares.values()), 1.0, 1e-6)
    outside = {}
    for megahertz, depth, decibels in floats(work.printed[1]):
        name = f"{int(megahertz)}"
        found.numbers[f"out_{name}_{depth:.0f}"] = decibels
        outside.setdefault(name, []).append((megahertz, depth, decibels))
    for name, rows in outside.items():
        (megahertz, first, high), (_, last, low) = rows[0], rows[-1]
        per_cm = 10 * (high - low) / (last - first)
        found.numbers[f"cost_{name}"] = per_cm
        k = fo.wave_number(1e6 * megahertz, permittivity(work, "muscle", 1e6 * megahertz))
        bound = abs(k) / -k.imag * (fit / 2 + (abs(k) * 0.25e-3) ** 2 / 24)
        found.check(f"loss of a centimetre at {name} MHz [dB]", per_cm,
                    -0.01 * 20 * math.log10(math.e) * k.imag, bound)
    more = {name: 300 / found.numbers[f"cost_{name}"] for name in ("403", "2450")}
    found.numbers |= {"cost_fine": found.numbers["cost_2450"], "exercise_more": more["2450"],
                      "exercise_depth": 20 + more["2450"], "exercise_more_403": more["403"]}
    return found


def trunk(work):
    found = Answers()
    run = summary(work, "7-slice-result")
    for (_, back), at in zip(floats(work.printed[1]), run["frequencies"]):
        f, name = at["frequency_hz"], f"{int(at['frequency_hz'] / 1e6)}"
        delivered, radiated = at["source_power_w_per_m"], at["radiated_power_w_per_m"]
        leaves, absorbed = at["body_surface_power_w_per_m"], at["absorbed_power_w_per_m"]
        far, over_bare = at["far_field"], at["body_insertion_gain_db"]
        best = max(range(360), key=lambda n: far["gain_db"][n])
        found.numbers |= {
            f"delivered_{name}": delivered, f"absorbed_{name}": absorbed["total"],
            f"leaves_{name}": leaves, f"leaves_db_{name}": 10 * math.log10(leaves / delivered),
            f"blood_{name}": 100 * absorbed["by_tissue"]["blood"] / delivered,
            f"insertion_{name}": over_bare[best], f"towards_{name}": far["angle_deg"][best],
            f"back_{name}": back}
        found.check(f"power balance at {name} MHz [W/m]", absorbed["total"] + radiated, delivered,
                    at["power_balance_residual"] * 1.001)
        found.check(f"power through the skin at {name} MHz [W/m]",
                    sum(at["body_surface_sectors"]["power_w_per_m"]), radiated, 1e-4)
        found.check(f"far field, all around, at {name} MHz [W/m]",
                    2 * math.pi / 360 * sum(far["intensity_w_per_m_rad"]), radiated,
                    10 ** (at["uncertainty_combined_db"] / 10) - 1)
        found.check(f"bare source at {name} MHz [W/m/rad]",
                    far["intensity_w_per_m_rad"][best] / 10 ** (over_bare[best] / 10),
                    fo.bare_line_intensity(f), 1e-9)
    return found


def link(work):
    found = Answers()
    told = json.loads((work.folder / "8-link-result" / "link.json").read_text())
    for at in told["frequencies"]:
        f, name = at["frequency_hz"], f"{int(at['frequency_hz'] / 1e6)}"
        out = at["implant_to_reader"]
        line = {row["name"]: row["value"] for row in out["lines"]}
        shown = {"transmit": "transmit power, implant", "capsule": "loss of the capsule, implant",
                 "gain": "gain towards the reader, implant", "eirp": "EIRP outside the body",
                 "space": "free-space loss", "reader": "gain, reader",
                 "received": "received power, median", "noise": "noise in the bandwidth",
                 "fading": "fade margin", "margin": "margin"}
        found.numbers |= {f"{word}_{name}": line[row] for word, row in shown.items()}
        found.numbers |= {f"uncertainty_{name}": at["uncertainty_db"]["computed"],
                          f"range_{name}": out["range_m"], f"closes_{name}": at["closes_deg"]}
        found.check(f"free-space loss at {name} MHz [dB]", line["free-space loss"],
                    fo.free_space_gain_db(f, 2.0), 1e-9)
        received = line["EIRP outside the body"] + fo.free_space_gain_db(f, 2.0) + 2.0
        found.check(f"received power at {name} MHz [dBm]", line["received power, median"],
                    received, 1e-9)
        kelvin = 310 + 290 * (10 ** 0.6 - 1)  # body, and a noise figure of 6 dB
        found.check(f"noise at {name} MHz [dBm]", line["noise in the bandwidth"],
                    fo.noise_dbm(kelvin, 300e3), 1e-9)
        # Noncoherent tones: exp(-g/2)/2 = 1e-3 (J. G. Proakis, from memory).
        needed = 10 * math.log10(2 * math.log(500))
        margin = received + line["fade margin"] - fo.noise_dbm(kelvin, 1.0) - 50 - needed
        found.check(f"margin at {name} MHz [dB]", line["margin"], margin, 1e-6)
        found.check(f"range at {name} MHz [m]", out["range_m"], 2 * 10 ** (margin / 20), 1e-6)
    farther = json.loads((work.folder / "4m.json").read_text())["frequencies"][0]
    margin = farther["implant_to_reader"]["with_fading"]["margin_db"]
    cost = found.numbers["margin_403"] - margin
    found.numbers |= {"exercise_margin": margin, "exercise_cost": cost,
                      "exercise_start": found.numbers["margin_403"]}
    found.check("cost of twice the distance [dB]", cost, 20 * math.log10(2), 1e-9)
    return found


def python_page(work):
    found = Answers()
    run = summary(work, "7-slice-result")
    _, _, powers, snapshot, phasors, again, spectrum, ring = map(floats, work.printed)
    found.numbers["snapshot_max"] = snapshot[0][0]
    for n, at in enumerate(run["frequencies"]):
        name, delivered = f"{int(at['frequency_hz'] / 1e6)}", at["source_power_w_per_m"]
        (_, leaves, most), (_, towards, _, total) = powers[n], ring[n]
        found.numbers |= {f"leaves_{name}": leaves, f"most_{name}": most,
                          f"back_{name}": phasors[0][n], f"ring_{name}": towards}
        found.check(f"leaves the body at {name} MHz [%]", leaves,
                    100 * at["body_surface_power_w_per_m"] / delivered, 1e-4)
        found.check(f"heats the blood at {name} MHz [%]", most,
                    100 * at["absorbed_power_w_per_m"]["by_tissue"]["blood"] / delivered, 1e-5)
        found.check(f"sectors, sum, at {name} MHz [W/m]", total,
                    at["body_surface_power_w_per_m"], 1e-5)
        found.check(f"|Ez| at {name} MHz, both ways [V/m]", again[0][n], phasors[0][n], 1e-6)
    found.numbers |= {"peak_front": spectrum[0][0], "peak_back": spectrum[1][0]}
    return found


PAGES = {"1-free-space": free_space, "2-entering-muscle": entering_muscle,
         "3-skin-depth": skin_depth, "4-fat-matches": fat_matches,
         "5-standing-wave": standing_wave, "6-source-inside": source_inside, "7-slice": trunk,
         "8-link": link, "python": python_page}
