"""The sound bench against an independent chain, a general-purpose decoder, and a statistics library.

Signals come from `sound make`, so that the truth is known; the figures of `sound flutter --json` are compared with
`sound_reference.py` (numpy and scipy). The same signal coded as FLAC, Ogg Vorbis and MP3 by libsndfile must read as
libsndfile's own decoder gives it back. A trend must have the slope that `scipy.stats.theilslopes` finds.
"""

import json
import tempfile
from pathlib import Path

import numpy as np
import sound_reference
import soundfile
from report import Check
from scipy.stats import theilslopes

# Signals with known truth: what is asked of `sound make`.
SIGNALS = {
    "clean": [],
    "drum": ["--line", "1.92:0.2", "--noise", "40"],
    "many lines": ["--line", "0.8:0.1", "--line", "4:0.15", "--line", "24:0.08", "--line", "60:0.05", "--noise", "45"],
    "fast and drifting": ["--speed-error", "1.3", "--drift", "0.2", "--line", "3:0.12", "--noise", "40"],
    "3 kHz, level modulated": ["--tone", "3000", "--am", "24:30", "--am", "96:20", "--line", "2:0.1", "--noise", "40"],
    "1 kHz at 44.1": ["--tone", "1000", "--rate", "44100", "--line", "2.5:0.2", "--noise", "50"],
}
# libsndfile writes these; MP3 and Vorbis lose a little, but no pitch.
CODINGS = {"flac": ("FLAC", "PCM_16"), "ogg": ("OGG", "VORBIS"), "mp3": ("MP3", "MPEG_LAYER_III")}
# Two decodings of one lossy file differ by rounding and by how much of the padding is kept at the ends (MP3: some 50 ms
# of a minute); the pitch and its fluctuation must not.
DECODED = {"tone_hz": 0.02, "speed_error_percent": 0.001, "unweighted_rms_percent": 0.003, "wow_rms_percent": 0.003}
# Readings of an invented machine: hours run, weighted flutter in per cent.
READINGS = [(0, 0.200), (10, 0.214), (12, 0.221), (13, 0.240), (15, 0.262), (11, 0.268), (14, 0.291), (15, 0.300)]


def chain(check, program, folder):
    """The whole flutter chain, figure by figure."""
    for name, asked in SIGNALS.items():
        wav = folder / f"{len(list(folder.iterdir()))}.wav"
        program.text("sound", "make", wav, *asked)
        theirs = program.json("sound", "flutter", wav)
        ours = sound_reference.measure(wav, theirs["nominal_tone_hz"])
        for key, reference in ours.items():
            found, within = theirs[key], sound_reference.TOLERANCE[key]
            if key in sound_reference.RELATIVE:
                if max(reference, found) < sound_reference.NOISE:
                    continue
                within *= reference
            check.near(key, name, reference, found, within)


def write_coded(path, samples, rate, container, coding):
    """Second by second: libsndfile's Vorbis coder overruns its stack when a minute comes at once."""
    with soundfile.SoundFile(path, "w", rate, 1, coding, format=container) as out:
        for start in range(0, len(samples), rate):
            out.write(samples[start : start + rate])


def decoders(check, program, folder):
    """One signal in several codings, decoded here by libsndfile and there by the program."""
    wav = folder / "coded.wav"
    program.text("sound", "make", wav, "--line", "1.92:0.2", "--noise", "50", "--speed-error", "0.3")
    samples, rate = soundfile.read(wav, dtype="float64")
    for ending, (container, coding) in CODINGS.items():
        coded = folder / f"coded.{ending}"
        write_coded(coded, samples, rate, container, coding)
        decoded, rate = soundfile.read(coded, dtype="float64")
        again = folder / f"decoded-{ending}.wav"
        soundfile.write(again, decoded, rate, subtype="DOUBLE")
        theirs, plain = program.json("sound", "flutter", coded), program.json("sound", "flutter", again)
        for key, within in DECODED.items():
            check.near(f"{key} of {ending}", "one signal", plain[key], theirs[key], within)
        check.same(f"lines of {ending}", "one signal", len(plain["lines"]), len(theirs["lines"]))


def trend(check, program, folder):
    """The slope of a trend and its band against a statistics library."""
    data = folder / "booth"
    machine = {"machine": "turnstone", "name": "Turnstone", "machine_type": "portable-16mm-halogen", "hours_before": 0}
    program.text("logbook", "begin", "An invented booth", "Wren", "--zone", "UTC", data=data)
    add = ["logbook", "add", "--at"]
    program.text(*add, "2026-01-01T09:00", "entry", "machine-added", json.dumps(machine), data=data)
    hours = 0.0
    for month, (ran, value) in enumerate(READINGS, start=2):
        hours += ran
        if ran:
            program.text(*add, f"2026-{month:02}-01T12:00", "ran", "turnstone", ran, data=data)
        reading = {"machine": "turnstone", "quantity": "flutter-weighted", "value": value, "unit": "%"}
        program.text(*add, f"2026-{month:02}-01T18:00", "entry", "reading", json.dumps(reading), data=data)
    found = program.json("sound", "trend", "turnstone", data=data)
    along = np.cumsum([ran for ran, _ in READINGS])
    slope, _, low, high = theilslopes([value for _, value in READINGS], along, alpha=0.8, method="joint")
    check.near("slope", "a trend", slope, found["slope_per_hour"], 1e-12)
    check.near("low slope", "a trend", low, found["slope_low_per_hour"], 1e-12)
    check.near("high slope", "a trend", high, found["slope_high_per_hour"], 1e-12)


def run(program, _booths, _kinds):
    """All of it."""
    check = Check("sound")
    with tempfile.TemporaryDirectory(prefix="boothwright-sound-") as folder:
        folder = Path(folder)
        chain(check, program, folder)
        decoders(check, program, folder)
        trend(check, program, folder)
    return check
