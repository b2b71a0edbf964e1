"""Flutter by band selection in one long Fourier transform: the shortest honest way to write it."""

import sys

import numpy as np
from flutter_common import find_tone, read, samples, tell
from scipy import fft, signal


def speed(sound, rate, tone):
    """The deviation of the tone's frequency from `tone` as a fraction, and its rate."""
    length = fft.next_fast_len(len(sound), real=True)
    spectrum = fft.rfft(sound.astype(np.float32), length, overwrite_x=True, workers=-1)
    step = rate / length
    band = min(600.0, 0.4 * tone)
    low, high = int((tone - band) / step), int((tone + band) / step)
    selected = spectrum[low:high] * signal.windows.tukey(high - low, 0.25).astype(np.float32)
    del spectrum
    # The middle of the band becomes 0 Hz; the rest of twice the band's width leaves room for the phase to turn.
    centre = len(selected) // 2
    slow = fft.next_fast_len(int(1.1 * len(selected)))
    shifted = np.zeros(slow, np.complex64)
    shifted[: len(selected) - centre], shifted[slow - centre :] = selected[centre:], selected[:centre]
    slow_rate = slow * step
    still = fft.ifft(shifted, workers=-1)
    turned = np.angle(still[1:] * np.conj(still[:-1]))
    frequency = turned * np.float32(slow_rate / (2 * np.pi)) + np.float32((low + centre) * step - tone)
    usable, edge = int(len(sound) / rate * slow_rate), int(0.05 * slow_rate)
    return frequency[edge : usable - edge] / np.float32(tone), slow_rate


sound, rate = samples(sys.argv[1])
tone = find_tone(sound, rate)
tell(read(*speed(sound, rate, tone), tone))
