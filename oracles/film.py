"""The film sums against exact fractions, and against what standards and handbooks print.

Each printed row names its publication; what is recalled and not looked up says `from memory`. A printed figure is
only as good as its last digit, and some tables are worked with rounded constants: the tolerance says so.
"""

from decimal import Decimal, getcontext
from fractions import Fraction

from report import Check

getcontext().prec = 40
PI = Decimal("3.141592653589793238462643383279502884197")
FRAMES_PER_FOOT = {"16mm": 40, "35mm": 16, "super8": 72, "standard8": 80}
# Inches from perforation to perforation of print stock and of short-pitch stock, and perforations a frame.
# 16 mm: SMPTE standard for 35 mm stock perforated 16 mm, scope. Super 8: SMPTE 149-2004, table 1. Standard 8:
# SMPTE 239-2004, scope. 35 mm: SMPTE 139, from memory.
PITCH_IN = {
    "16mm": ("0.3000", "0.2994", 1),
    "35mm": ("0.1870", "0.1866", 4),
    "super8": ("0.1667", "0.1664", 1),
    "standard8": ("0.1500", "0.1497", 1),
}
# Frames by which the sound runs ahead of its picture.
ADVANCE = {
    ("16mm", "optical"): (26, "SMPTE 41, clause 4"),
    ("16mm", "magnetic"): (28, "SMPTE 112, from memory"),
    ("35mm", "optical"): (21, "SMPTE 40, from memory"),
    ("35mm", "magnetic"): (-28, "four-track magnetic, from memory"),
    ("super8", "optical"): (22, "SMPTE 187, from memory"),
    ("super8", "magnetic"): (18, "SMPTE 164, from memory"),
    ("standard8", "magnetic"): (56, "from memory"),
}
SPEEDS = ("16", "18", "23.976", "24", "25", "16.667")
FEET = ("1", "50", "100", "400", "1200.4", "2000", "3600", "0", "7.31")
METRES = ("15", "60", "122", "609.6", "2736", "0.3048")
SECONDS = ("1", "59.9", "666.7", "3600", "5640", "0")
FOOT_M = Fraction("0.3048")
# Lengths in answers are rounded to a millionth of their unit.
ROUNDED = 0.51e-6

# Running times: gauge, length, frames a second, seconds, how far the print may be off, publication.
PRINTED_TIMES = [
    ("standard8", "15 m", 16, 246, 1, "printed table of 8 mm and Super 8 lengths and times"),
    ("standard8", "60 m", 16, 984, 1, "printed table of 8 mm and Super 8 lengths and times"),
    ("standard8", "90 m", 16, 1477, 1, "printed table of 8 mm and Super 8 lengths and times"),
    ("standard8", "120 m", 16, 1969, 1, "printed table of 8 mm and Super 8 lengths and times"),
    ("super8", "15 m", 18, 197, 1, "printed table of 8 mm and Super 8 lengths and times"),
    ("super8", "60 m", 18, 787, 1, "printed table of 8 mm and Super 8 lengths and times"),
    ("super8", "90 m", 18, 1181, 1, "printed table of 8 mm and Super 8 lengths and times"),
    ("super8", "120 m", 18, 1575, 1, "printed table of 8 mm and Super 8 lengths and times"),
    ("35mm", "9000 ft", 24, 6000, 0, "encyclopaedia article on the film foot"),
    ("16mm", "3600 ft", 24, 6000, 0, "encyclopaedia article on the film foot"),
    ("standard8", "1800 ft", 24, 6000, 0, "encyclopaedia article on the film foot"),
    ("super8", "2000 ft", 24, 6000, 0, "encyclopaedia article on the film foot"),
    ("35mm", "1000 ft", 24, 11.11 * 60, 0.4, "encyclopaedia article on cue marks (11.11 min)"),
    ("35mm", "2000 ft", 24, 22.22 * 60, 0.4, "encyclopaedia article on cue marks (22.22 min)"),
    # That page counts 27.36 m/min, 0.26 % below the exact 27.432.
    ("35mm", "2736 m", 24, 6000, 17, "page on basic projection, which counts 27.36 m a minute"),
    ("16mm", "36 ft", 24, 60, 0, "SMPTE 41, clause 3 (36 ft/min)"),
    ("35mm", "90 ft", 24, 60, 0, "encyclopaedia article on 35 mm film (90 ft/min)"),
    ("16mm", "27 ft", 18, 60, 0, "ISO 26:1993, clause 4 (18 frames a second), with 40 frames to the foot"),
]
# Film speeds: gauge, frames a second, key, value, tolerance, publication.
PRINTED_SPEEDS = [
    ("16mm", 24, "speed_ft_per_min", 36, 0, "SMPTE 41, clause 3"),
    ("16mm", 24, "speed_in_per_s", 7.2, 1e-9, "SMPTE 41, clause 3"),
    ("16mm", 24, "speed_mm_per_s", 183, 0.5, "SMPTE 41, clause 3"),
    ("35mm", 24, "speed_in_per_s", 18, 0, "SMPTE RP 127-2004, clause 3.1"),
    ("35mm", 24, "speed_mm_per_s", 457, 0.5, "SMPTE RP 127-2004, clause 3.1 (45.7 cm/s)"),
    ("35mm", 24, "speed_ft_per_min", 90, 0, "encyclopaedia article on 35 mm film, technical specifications"),
]
# Wound lengths: outer, hub, thickness, feet, tolerance, publication.
PRINTED_REELS = [
    ("5 in", "2 in", "0.011 in", 1499.39 / 12, 0.001, "worked example, length of a wound roll (1499.39 in)"),
    ("15 in", "5 in", "0.0053 in", 2470, 1, "film-handling community handbook, page on reels"),
    ("15 in", "2 in", "0.0053 in", 2729, 1, "film-handling community handbook, page on reels"),
    ("14 in", "4 in", "0.0053 in", 2223, 1, "film-handling community handbook, page on reels"),
]


def nearest(exact):
    """The nearest whole number; None where two lie equally near."""
    whole = exact.numerator // exact.denominator
    rest = exact - whole
    return None if rest == Fraction(1, 2) else whole + (rest > Fraction(1, 2))


def check_times(check, program, gauge, fps):
    """Length → time, in feet and in metres."""
    lengths = [(f"{feet} ft", Fraction(feet)) for feet in FEET]
    lengths += [(f"{metres} m", Fraction(metres) / FOOT_M) for metres in METRES]
    for text, feet in lengths:
        frames = nearest(feet * FRAMES_PER_FOOT[gauge])
        if frames is None:
            continue
        where = f"film time {text} of {gauge} at {fps}"
        said = program.json("film", "time", text, "--gauge", gauge, "--fps", fps)
        check.same("frames", where, frames, said["frames"])
        check.near("seconds", where, frames / Fraction(fps), said["seconds"], 1e-9)
        check.near("lengths", where, feet, said["length_ft"], ROUNDED)
        check.near("lengths", where, feet * FOOT_M, said["length_m"], ROUNDED)


def check_lengths(check, program, gauge, fps):
    """Time → length."""
    for text in SECONDS:
        frames = nearest(Fraction(text) * Fraction(fps))
        if frames is None:
            continue
        where = f"film length {text} s of {gauge} at {fps}"
        said = program.json("film", "length", f"{text} s", "--gauge", gauge, "--fps", fps)
        feet = Fraction(frames, FRAMES_PER_FOOT[gauge])
        check.same("frames", where, frames, said["frames"])
        check.near("lengths", where, feet, said["length_ft"], ROUNDED)
        check.near("lengths", where, feet * FOOT_M, said["length_m"], ROUNDED)


def check_speed(check, program, gauge, fps):
    """Frames a second → film speed, as counted and by perforations."""
    where = f"film speed of {gauge} at {fps}"
    said = program.json("film", "speed", "--gauge", gauge, "--fps", fps)
    feet = Fraction(fps) / FRAMES_PER_FOOT[gauge]
    long, short, perforations = PITCH_IN[gauge]
    by_pitch = Fraction(fps) * perforations * Fraction("25.4")
    for key, exact in {
        "speed_ft_per_min": feet * 60,
        "speed_in_per_s": feet * 12,
        "speed_mm_per_s": feet * FOOT_M * 1000,
        "by_long_pitch_mm_per_s": by_pitch * Fraction(long),
        "by_short_pitch_mm_per_s": by_pitch * Fraction(short),
        "perforations_hz": Fraction(fps) * perforations,
    }.items():
        check.near("speeds", f"{where} {key}", exact, said[key], ROUNDED)


def check_advance(check, program, gauge, fps):
    """Picture to sound."""
    for (of, sound), (frames, source) in ADVANCE.items():
        if of != gauge:
            continue
        where = f"film advance of {gauge} {sound} at {fps} ({source})"
        said = program.json("film", "advance", "--sound", sound, "--gauge", gauge, "--fps", fps)
        inches = frames * PITCH_IN[gauge][2] * Fraction(PITCH_IN[gauge][0])
        check.same("frames of advance", where, frames, said["frames"])
        check.near("distances", where, inches, said["distance_in"], ROUNDED)
        check.near("distances", where, inches * Fraction("25.4"), said["distance_mm"], ROUNDED)
        check.near("milliseconds", where, 1000 * frames / Fraction(fps), said["milliseconds"], ROUNDED)
        check.near("milliseconds", where, 1000 / Fraction(fps), said["milliseconds_per_frame"], ROUNDED)


def wound_mm(outer_mm, hub_mm, thickness_mm):
    """The length on a reel: the ring seen from the side, over the thickness."""
    outer, hub, thickness = Decimal(outer_mm), Decimal(hub_mm), Decimal(thickness_mm)
    return PI * (outer * outer - hub * hub) / (4 * thickness)


def check_reels(check, program, gauge, fps):
    """Diameter → length, and back."""
    for outer, hub, thickness in [("300", "120", "0.155"), ("178", "63.5", "0.14"), ("381", "51", "0.1346")]:
        where = f"film reel {outer} mm on {hub} mm at {thickness} mm, {gauge} at {fps}"
        common = ("--hub", f"{hub} mm", "--thickness", f"{thickness} mm", "--gauge", gauge, "--fps", fps)
        said = program.json("film", "reel", f"{outer} mm", *common)
        metres = wound_mm(outer, hub, thickness) / 1000
        feet = metres / Decimal("0.3048")
        check.near("wound lengths", where, metres, said["length_m"], ROUNDED)
        seconds = feet * FRAMES_PER_FOOT[gauge] / Decimal(fps)
        check.near("seconds on reels", where, seconds, said["seconds"], 1e-6)
        back = program.json("film", "reel", "--holds", f"{metres:.12f} m", *common)
        check.near("diameters", where, float(outer), back["outer_mm"], ROUNDED)


def check_printed(check, program):
    """What others have printed."""
    for gauge, length, fps, seconds, within, source in PRINTED_TIMES:
        said = program.json("film", "time", length, "--gauge", gauge, "--fps", fps)
        where = f"{length} of {gauge} runs {said['seconds']} s, {source}"
        check.must("printed times", where, abs(said["seconds"] - seconds) <= within + 1e-9)
    for gauge, fps, key, value, within, source in PRINTED_SPEEDS:
        said = program.json("film", "speed", "--gauge", gauge, "--fps", fps)
        check.must("printed speeds", f"{gauge} {key} {said[key]}, {source}", abs(said[key] - value) <= within + 1e-9)
    for outer, hub, thickness, feet, within, source in PRINTED_REELS:
        wound = ("--hub", hub, "--thickness", thickness)
        said = program.json("film", "reel", outer, *wound, "--gauge", "35mm", "--fps", 24)
        where = f"{outer} on {hub} holds {said['length_ft']} ft, {source}"
        check.must("printed reels", where, abs(said["length_ft"] - feet) <= within)
    # SMPTE 41, clause 4: 26 frames; with the pitch of 0.3000 in that is 198.1 mm.
    said = program.json("film", "advance", "--gauge", "16mm", "--fps", 24)
    where = f"16 mm optical {said['distance_mm']} mm, SMPTE 41, clause 4"
    check.must("printed advances", where, said["frames"] == 26 and abs(said["distance_mm"] - 198.1) < 0.05)


def run(program, _booths, _kinds):
    """Every sum for every gauge and speed."""
    check = Check("film")
    for gauge in FRAMES_PER_FOOT:
        for fps in SPEEDS:
            check_speed(check, program, gauge, fps)
            check_advance(check, program, gauge, fps)
        for fps in ("18", "24", "23.976"):
            check_times(check, program, gauge, fps)
            check_lengths(check, program, gauge, fps)
        check_reels(check, program, gauge, "24")
    check_printed(check, program)
    return check
