"""What both flutter peers do once the speed of the tone is known: weigh it and read it.

The figures are those of `boothwright sound flutter`: mean speed, drift, two-sigma weighted (AES6), root mean square
from 0.2 to 200 Hz, wow to 6 Hz, flutter to 100 Hz. The quasi-peak meter, the search for lines and the checks for breaks
are left out, because a meter that charges and discharges cannot be written in whole arrays: the peers have it easier.
"""

import json
import resource

import numpy as np
from scipy import fft, signal
from scipy.interpolate import PchipInterpolator

# IEC 60386 / DIN 45507 / AES6 weighting, dB against Hz, from memory.
WEIGHTING = np.array([
    (0.1, -48.0), (0.2, -30.6), (0.315, -19.7), (0.4, -15.0), (0.63, -8.4), (0.8, -6.0), (1.0, -4.2), (1.6, -1.8),
    (2.0, -0.9), (4.0, 0.0), (6.3, -0.9), (10.0, -2.1), (20.0, -5.9), (40.0, -10.4), (63.0, -14.2), (100.0, -17.3),
    (200.0, -23.0),
])  # fmt: skip
# Two-sigma (AES6): the deviation exceeded for 4.55 % of the time.
TWO_SIGMA = 0.954_499_736
# Samples of the transform that tells the bands apart: a minute and more at 1 kHz.
WINDOW = 65_536


def samples(path):
    """The samples of a WAV file of 16 bits and one channel, left on the disk until they are looked at; their rate."""
    head = np.fromfile(path, "<u4", 11)
    return np.memmap(path, "<i2", "r", 44, (int(head[10]) // 2,)), int(head[6])


def find_tone(sound, rate):
    """The strongest frequency from 270 Hz to 12.6 kHz in the middle of the recording."""
    middle = len(sound) // 2
    window = sound[middle - rate : middle + rate].astype(np.float32)
    power = np.abs(fft.rfft(window * np.hanning(len(window)).astype(np.float32))) ** 2
    hz = fft.rfftfreq(len(window), 1 / rate)
    power[(hz < 270) | (hz > 12_600)] = 0
    return hz[np.argmax(power)]


def weight(hz):
    """The table, and beyond it a response that falls on."""
    table = PchipInterpolator(np.log10(WEIGHTING[:, 0]), WEIGHTING[:, 1])
    gain = np.zeros(len(hz), np.float32)
    inside = (hz >= 0.1) & (hz <= 200)
    gain[inside] = 10 ** (table(np.log10(hz[inside])) / 20)
    gain[hz > 200] = 10 ** (-23 / 20) * 200 / hz[hz > 200]
    return gain


def read(deviation, rate, tone):
    """The figures, of the deviation of the tone's frequency as a fraction of `tone`."""
    drift, mean = np.polynomial.polynomial.polyfit(np.arange(0, len(deviation), 1000) / rate, block(deviation), 1)[::-1]
    mean = float(deviation.mean(dtype=np.float64))
    deviation = (deviation - np.float32(mean)) / np.float32(1 + mean)
    length = fft.next_fast_len(len(deviation), real=True)
    spectrum = fft.rfft(deviation, length, workers=-1)
    spectrum *= weight(fft.rfftfreq(length, 1 / rate))
    edge = int(2 * rate)
    weighted = np.abs(fft.irfft(spectrum, length, workers=-1)[edge : len(deviation) - edge])
    kth = int(TWO_SIGMA * (len(weighted) - 1))
    hz, power = signal.welch(deviation, rate, window="hann", nperseg=WINDOW, detrend="linear")

    def band(low, high):
        return float(np.sqrt(power[(hz >= low) & (hz < high)].sum() * (hz[1] - hz[0])))

    tone_hz = tone * (1 + mean)
    nominal = min((3150.0, 3000.0, 1000.0, 400.0), key=lambda n: abs(np.log(tone_hz / n)))
    return {
        "tone_hz": tone_hz,
        "speed_error_percent": 100 * (tone_hz / nominal - 1),
        "drift_percent_per_minute": 100 * 60 * float(drift),
        "weighted_two_sigma_percent": 100 * float(np.partition(weighted, kth)[kth]),
        "unweighted_rms_percent": 100 * band(0.2, 200),
        "wow_rms_percent": 100 * band(0.1, 6),
        "flutter_rms_percent": 100 * band(6, 100),
    }


def block(deviation):
    """Means of a thousand, for the straight line through them."""
    whole = len(deviation) // 1000 * 1000
    means = deviation[:whole].reshape(-1, 1000).mean(axis=1, dtype=np.float64)
    rest = deviation[whole:]
    return np.append(means, rest.mean(dtype=np.float64)) if len(rest) else means


def tell(figures):
    """Prints them with the most memory that was ever held."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(json.dumps(figures | {"peak_mb": peak}))
