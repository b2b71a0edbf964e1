"""Flutter by filtering and decimating in matrix products, block by block: the fastest way found to write it in numpy.

A row of samples times a band matrix of shifted filter taps gives several decimated outputs of the tone mixed down; the
BLAS library does the work at the speed of the processor, and no more than some blocks are held at a time.
"""

import sys

import numpy as np
from flutter_common import find_tone, read, samples, tell

# Outputs of one row of the matrix.
OUTPUTS = 16
# Rows worked on together: they stay in the cache.
ROWS = 2048
# Half the pass band, and the rate after decimation, Hz.
BAND, SLOW = 600.0, 2000.0


def taps(rate, tone):
    """A Kaiser low-pass (80 dB), turned up to the tone."""
    length = int(5.0 * rate / (SLOW - 2 * BAND)) | 1
    n = np.arange(length) - length // 2
    cutoff = SLOW / 2 / rate
    return np.kaiser(length, 7.86) * 2 * cutoff * np.sinc(2 * cutoff * n) * np.exp(-2j * np.pi * tone / rate * n)


def mixed_down(sound, rate, tone):
    """The tone at rest, complex, at the slow rate."""
    step = int(rate / SLOW)
    row = step * OUTPUTS
    filter_taps = taps(rate, tone)
    spans = -(-(row - step + len(filter_taps)) // row)
    matrix = np.zeros((spans * row, 2 * OUTPUTS), np.float32)
    for at in range(OUTPUTS):
        matrix[at * step : at * step + len(filter_taps), 2 * at] = filter_taps.real
        matrix[at * step : at * step + len(filter_taps), 2 * at + 1] = filter_taps.imag
    parts = np.split(matrix, spans)
    rows = len(sound) // row - (spans - 1)
    out = np.empty((rows, 2 * OUTPUTS), np.float32)
    for start in range(0, rows, ROWS):
        end = min(start + ROWS, rows)
        block = sound[start * row : (end + spans - 1) * row].astype(np.float32).reshape(-1, row)
        np.matmul(block[: end - start], parts[0], out=out[start:end])
        for span in range(1, spans):
            out[start:end] += block[span : span + end - start] @ parts[span]
    return out.reshape(-1).view(np.complex64), step


def speed(sound, rate, tone):
    """The deviation of the tone's frequency from `tone` as a fraction, and its rate."""
    still, step = mixed_down(sound, rate, tone)
    slow_rate = rate / step
    # The taps do not turn on from output to output, so the tone does: by so much that is no deviation.
    back = np.complex64(np.exp(-2j * np.pi * tone * step / rate))
    turned = np.angle(still[1:] * np.conj(still[:-1]) * back)
    return turned * np.float32(slow_rate / (2 * np.pi * tone)), slow_rate


sound, rate = samples(sys.argv[1])
tone = find_tone(sound, rate)
tell(read(*speed(sound, rate, tone), tone))
