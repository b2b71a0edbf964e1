"""A hall's sums by other ways: rays traced through pinhole and plane, energies added, resistances put in series.

The tolerances are those of answers that are rounded to a millionth of their unit.
"""

import math
import random

import numpy as np

from report import Check

ROUNDED = 2e-6
# Aperture plates in inches: SMPTE 233, from memory, and an encyclopaedia article on 35 mm film; the spread of the lens.
PLATES = {
    ("16mm", "1.33"): (0.380, 0.284, 1),
    ("35mm", "1.37"): (0.825, 0.602, 1),
    ("35mm", "1.85"): (0.825, 0.446, 1),
    ("35mm", "anamorphic"): (0.825, 0.690, 2),
}
# Ohm a kilometre of flexible copper at 20 °C: IEC 60228, from memory.
COPPER = {"0.75mm2": 26.0, "1.5mm2": 13.3, "2.5mm2": 7.98}


def options(**given):
    """The command line's options."""
    return [word for key, text in given.items() for word in ("--" + key.replace("_", "-"), text)]


def image_distance(focal, throw):
    """Where the film stands behind a thin lens: solved from 1/f = 1/film + 1/screen."""
    return 1 / (1 / focal - 1 / throw)


def edges_on_screen(width, height, film, down):
    """The lengths of the picture's upper and lower edge on a screen that stands upright, the beam going down by an
    angle: each corner of the film is a ray through the lens, met with the screen's plane."""
    turn = np.array([[math.cos(down), 0, math.sin(down)], [0, 1, 0], [-math.sin(down), 0, math.cos(down)]])
    met = {}
    for up in (1, -1):
        for side in (1, -1):
            ray = turn @ np.array([film, side * width / 2, up * height / 2])
            met[up, side] = ray / ray[0]
    length = lambda up: abs(met[up, 1][1] - met[up, -1][1])
    return length(1), length(-1)


def check_lens(check, program, dice):
    """Picture, lens and keystone."""
    for (gauge, form), (width_in, height_in, spread) in PLATES.items():
        for _ in range(6):
            throw, focal = dice.uniform(4, 30), dice.uniform(0.025, 0.12)
            where = f"{gauge} {form}, {throw} m, {focal} m"
            said = program.json("venue", "lens", *options(gauge=gauge, format=form, throw=f"{throw} m", lens=f"{focal} m"))
            film = image_distance(focal, throw)
            size = [inches * 0.0254 * throw / film for inches in (width_in * spread, height_in)]
            check.near("picture widths", where, size[0], said["picture_width_m"]["likely"], ROUNDED)
            check.near("picture heights", where, size[1], said["picture_height_m"]["likely"], ROUNDED)
            back = program.json("venue", "lens", *options(gauge=gauge, format=form, throw=f"{throw} m", screen_width=f"{size[0]} m")) if size[0] < 90 else None
            if back:
                check.near("lenses", where, focal * 1000, back["focal_length_mm"]["likely"], ROUNDED)
            angle = dice.uniform(2, 14)
            bottom = 1.0
            lens = bottom + size[1] / 2 + throw * math.sin(math.radians(angle))
            if lens < 49:
                given = options(gauge=gauge, format=form, throw=f"{throw} m", lens=f"{focal} m", lens_height=f"{lens:.9f} m", screen_bottom="1 m")
                bent = program.json("venue", "lens", *given)["keystone_down"]
                upper, lower = edges_on_screen(width_in * spread * 0.0254, height_in * 0.0254, film, math.radians(angle))
                ratio = max(upper, lower) / min(upper, lower)
                check.near("keystones", where, (ratio - 1) * 100, bent["keystone_percent"]["likely"], 1e-4)


def check_light(check, program, dice):
    """Foot-lamberts as lumens on square feet; candelas by pi and the metre."""
    for _ in range(10):
        lumens, width, gain = dice.uniform(100, 2000), dice.uniform(1, 5), dice.uniform(0.7, 2.5)
        given = options(throw="15 m", screen_width=f"{width} m", machine_light=f"{lumens} lm", gain=f"{gain}")
        said = program.json("venue", "light", *given)
        feet = width / 0.3048
        foot_lamberts = lumens * gain / (feet * feet * 0.284 / 0.380)
        where = f"{lumens} lm on {width} m, gain {gain}"
        check.near("foot-lamberts", where, foot_lamberts, said["luminance_fl"]["likely"], 1e-5)
        # A candela on a square metre, of a surface that shines alike to all sides, is pi lumens from it.
        candelas = lumens * gain / (width * width * 0.284 / 0.380) / math.pi
        check.near("candelas", where, candelas, said["luminance_cd_per_m2"]["likely"], 1e-5)


def check_sight(check, program, dice):
    """The line from each eye to the picture's lower edge, and by how much it passes over the eye in front."""
    for _ in range(8):
        first, spacing, riser = dice.uniform(3, 6), dice.uniform(0.8, 1.1), dice.choice([0, 0.1, 0.2])
        eye, bottom = dice.uniform(1.1, 1.25), dice.uniform(1.0, 2.5)
        given = options(
            throw="15 m", screen_width="2.4 m", first_row=f"{first} m", rows="8", seats_across="9", row_spacing=f"{spacing} m",
            riser=f"{riser} m", eye_height=f"{eye} m", screen_bottom=f"{bottom} m",
        )
        said = program.json("venue", "sight", *given)
        for row in said["rows"][1:]:
            at = row["row"] - 1
            own = np.array([first + at * spacing, eye + at * riser])
            front = np.array([first + (at - 1) * spacing, eye + (at - 1) * riser])
            over = np.interp(front[0], [0, own[0]], [bottom, own[1]]) - front[1]
            check.near("sight lines", f"row {at + 1} of {given}", over * 1000, row["c_value_mm"]["likely"], 1e-4)


def check_sound(check, program, dice):
    """Energies of direct and reverberant sound, added."""
    for _ in range(8):
        length, width, height, seconds = dice.uniform(8, 25), dice.uniform(5, 12), dice.uniform(3, 8), dice.uniform(0.6, 2)
        watts, decibels, directivity = dice.uniform(5, 50), dice.uniform(88, 96), dice.uniform(2, 10)
        given = options(
            hall_length=f"{length} m", hall_width=f"{width} m", hall_height=f"{height} m", reverberation=f"{seconds} s",
            amplifier=f"{watts} W", sensitivity=f"{decibels} dB", directivity=f"{directivity}",
        )
        said = program.json("venue", "sound", *given)
        walls = 2 * (length * width + length * height + width * height)
        mean = min(0.161 * length * width * height / seconds / walls, 0.95)
        room = mean * walls / (1 - mean)
        # The power of the source, from what it makes at one metre in the open on its axis.
        power = watts * 10 ** (decibels / 10) * 4 * math.pi / directivity
        for row, distance in zip(said["rows"], (length / 3, length)):
            energy = power * (directivity / (4 * math.pi * distance**2) + 4 / room)
            check.near("levels", f"{distance} m of {given}", 10 * math.log10(energy), row["level_db"]["likely"], 1e-5)


def check_power(check, program, dice):
    """Cable and load as resistances of one loop."""
    for size, ohms_per_km in COPPER.items():
        for _ in range(3):
            watts, length = dice.uniform(200, 1200), dice.uniform(2, 80)
            given = options(mains_volts="230 V", socket_volts="230 V", load=f"{watts} W", power_factor="1", cable_length=f"{length} m", cable_size=size)
            said = program.json("venue", "power", *given)
            loop = 2 * length * ohms_per_km / 1000
            # The coolest cable loses least.
            check.near("voltage drops", f"{size}, {length} m, {watts} W", watts / 230 * loop, said["drop_v"]["low"], ROUNDED)
            left = 230 - watts / 230 * loop
            check.near("volts at the machine", f"{size}, {length} m", left, said["at_machine_v"]["high"], ROUNDED)


def run(program, _booths, _kinds):
    """Every question of a hall, over halls of all sizes."""
    check, dice = Check("venue"), random.Random(16)
    check_lens(check, program, dice)
    check_light(check, program, dice)
    check_sight(check, program, dice)
    check_sound(check, program, dice)
    check_power(check, program, dice)
    return check
