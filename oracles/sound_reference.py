"""Speed, wow and flutter of a recorded tone, worked out a second time and in another way.

Nothing here is shared with the program: the tone is taken out by band selection in one long Fourier transform, the
phase of the analytic signal is unwrapped, and the weighting is laid over the spectrum by interpolation in its table.

    python sound_reference.py RECORDING.wav                     prints the figures as JSON
    python sound_reference.py RECORDING.wav --against R.json    compares them with a result of `sound flutter --json`

Needs numpy and scipy. Only whole or floating-point PCM in WAV; the first channel is measured.
"""

import argparse
import json
import sys

import numpy as np
from scipy import fft, signal
from scipy.interpolate import PchipInterpolator
from scipy.io import wavfile

# IEC 60386 / DIN 45507 / AES6 weighting, dB against Hz, from memory.
WEIGHTING = np.array([
    (0.1, -48.0), (0.2, -30.6), (0.315, -19.7), (0.4, -15.0), (0.63, -8.4), (0.8, -6.0), (1.0, -4.2), (1.6, -1.8),
    (2.0, -0.9), (4.0, 0.0), (6.3, -0.9), (10.0, -2.1), (20.0, -5.9), (40.0, -10.4), (63.0, -14.2), (100.0, -17.3),
    (200.0, -23.0),
])  # fmt: skip

# Two-sigma (AES6): the deviation exceeded for 4.55 % of the time.
TWO_SIGMA = 95.449_973_610_364_16

# What two honest readings of one recording may differ by, and whose doing it is.
TOLERANCE = {
    # The clean ends of the recording that each leaves out are not the same.
    "tone_hz": 0.05,
    "speed_error_percent": 0.002,
    "drift_percent_per_minute": 0.01,
    # The program's weighting is a filter of four sections within 0.35 dB of the table, 4 % of the reading.
    "weighted_two_sigma_percent": 0.05,
    "unweighted_rms_percent": 0.03,
    "wow_rms_percent": 0.03,
    "flutter_rms_percent": 0.03,
}
RELATIVE = {k for k in TOLERANCE if k.endswith(("sigma_percent", "rms_percent"))}
# Below this many percent the readings are noise, which the program takes off and this script does not.
NOISE = 0.01


def read(path):
    rate, samples = wavfile.read(path)
    if samples.ndim > 1:
        samples = samples[:, 0]
    if samples.dtype == np.uint8:
        samples = samples.astype(np.float64) - 128.0
    return rate, samples.astype(np.float64)


def find_tone(rate, samples):
    """The strongest frequency from 270 Hz to 12.6 kHz in the middle of the recording."""
    middle = len(samples) // 2
    half = min(middle, 2 * rate)
    window = samples[middle - half : middle + half]
    power = np.abs(fft.rfft(window * signal.windows.hann(len(window)))) ** 2
    hz = fft.rfftfreq(len(window), 1 / rate)
    power[(hz < 270) | (hz > 12_600)] = 0
    return hz[np.argmax(power)]


def speed_signal(rate, samples, tone):
    """The deviation of the tone's frequency from `tone` as a fraction, and its rate."""
    band = min(600.0, 0.4 * tone)
    length = fft.next_fast_len(len(samples), real=True)
    spectrum = fft.rfft(samples, length)
    step = rate / length
    low, high = int((tone - band) / step), int((tone + band) / step)
    # A smooth edge keeps the band's own ringing out of the phase.
    selected = spectrum[low:high] * signal.windows.tukey(high - low, 0.25)
    # The middle of the band becomes 0 Hz; twice the band's width leaves room for the phase to turn.
    centre = len(selected) // 2
    slow = fft.next_fast_len(2 * len(selected))
    shifted = np.concatenate([selected[centre:], np.zeros(slow - len(selected)), selected[:centre]])
    slow_rate = slow * step
    phase = np.unwrap(np.angle(fft.ifft(shifted)))
    frequency = (low + centre) * step + np.gradient(phase) * slow_rate / (2 * np.pi)
    usable = int(len(samples) / rate * slow_rate)
    # The transform takes the recording for a loop: its seam is left out.
    edge = int(0.05 * slow_rate)
    return frequency[edge : usable - edge] / tone - 1, slow_rate


def weigh(deviation, rate):
    """Lays the table over the spectrum of the deviation; beyond the table the response falls on."""
    table = PchipInterpolator(np.log10(WEIGHTING[:, 0]), WEIGHTING[:, 1])
    spectrum = fft.rfft(deviation - deviation.mean())
    hz = fft.rfftfreq(len(deviation), 1 / rate)
    gain = np.zeros_like(hz)
    inside = (hz >= 0.1) & (hz <= 200)
    gain[inside] = 10 ** (table(np.log10(hz[inside])) / 20)
    above = hz > 200
    gain[above] = 10 ** (-23 / 20) * 200 / hz[above]
    return fft.irfft(spectrum * gain, len(deviation))


def rms(deviation, rate, low, high):
    hz, power = signal.periodogram(deviation, rate, window="hann", detrend="linear")
    inside = (hz >= low) & (hz < high)
    return np.sqrt(power[inside].sum() * (hz[1] - hz[0]))


def measure(path, nominal=None):
    rate, samples = read(path)
    tone = find_tone(rate, samples)
    deviation, slow_rate = speed_signal(rate, samples, tone)
    seconds = np.arange(len(deviation)) / slow_rate
    slope, _ = np.polyfit(seconds, deviation, 1)
    mean = deviation.mean()
    tone_hz = tone * (1 + mean)
    if nominal is None:
        nominal = min((3150.0, 3000.0, 1000.0, 400.0), key=lambda n: abs(np.log(tone_hz / n)))
    deviation = (deviation - mean) / (1 + mean)
    weighted = weigh(deviation, slow_rate)
    settled = weighted[int(2 * slow_rate) : -int(2 * slow_rate)]
    return {
        "tone_hz": tone_hz,
        "speed_error_percent": 100 * (tone_hz / nominal - 1),
        "drift_percent_per_minute": 100 * 60 * slope,
        "weighted_two_sigma_percent": 100 * np.percentile(np.abs(settled), TWO_SIGMA),
        "unweighted_rms_percent": 100 * rms(deviation, slow_rate, 0.2, 200),
        "wow_rms_percent": 100 * rms(deviation, slow_rate, 0.1, 6),
        "flutter_rms_percent": 100 * rms(deviation, slow_rate, 6, 100),
    }


def differences(ours, theirs):
    """Every figure that is further off than its tolerance, as a line of text."""
    for key, reference in ours.items():
        found = theirs.get(key)
        if found is None:
            yield f"{key}: missing from the result"
            continue
        if key in RELATIVE:
            if max(reference, found) < NOISE:
                continue
            off, unit = abs(found / reference - 1), "of the reading"
        else:
            off, unit = abs(found - reference), "absolute"
        if not off <= TOLERANCE[key]:
            yield f"{key}: {found:.6g} against {reference:.6g}, off by {off:.3g} {unit} (allowed {TOLERANCE[key]})"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("recording")
    parser.add_argument("--tone", type=float, help="the tone that the film should carry, Hz")
    parser.add_argument("--against", help="a result of `sound flutter --json`")
    given = parser.parse_args()
    ours = measure(given.recording, given.tone)
    if given.against is None:
        print(json.dumps(ours, indent=2))
        return 0
    with open(given.against, encoding="utf-8") as file:
        wrong = list(differences(ours, json.load(file)))
    for line in wrong:
        print(line)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
