"""Makes the compressed recordings beside this file, with general-purpose encoders.

A tone of 3000 Hz that runs 0.8 % fast, with flutter of 0.20 % at 2 Hz and 0.10 % at 24 Hz, 12 s at 32 kHz.
Needs numpy, soundfile (FLAC, Ogg Vorbis, MP3) and av (AAC in MP4):

    python make.py
"""

from pathlib import Path

import av
import numpy as np
import soundfile

RATE, SECONDS = 32_000, 12
HERE = Path(__file__).parent


def tone():
    t = np.arange(RATE * SECONDS) / RATE
    time = 1.008 * t
    for hz, depth in ((2.0, 0.0020), (24.0, 0.0010)):
        time = time - depth / (2 * np.pi * hz) * np.cos(2 * np.pi * hz * t)
    return 0.3 * np.sin(2 * np.pi * ((3000 * time) % 1.0))


def write_aac(path, samples):
    with av.open(str(path), "w", format="ipod") as container:
        stream = container.add_stream("aac", rate=RATE, layout="mono")
        stream.bit_rate = 48_000
        frame = av.AudioFrame.from_ndarray(samples.astype(np.float32)[None, :], format="fltp", layout="mono")
        frame.sample_rate = RATE
        for packet in [*stream.encode(frame), *stream.encode(None)]:
            container.mux(packet)


def main():
    samples = tone()
    soundfile.write(HERE / "tone.flac", samples, RATE, subtype="PCM_16")
    soundfile.write(HERE / "tone.ogg", samples, RATE, format="OGG", subtype="VORBIS")
    soundfile.write(HERE / "tone.mp3", samples, RATE, format="MP3")
    write_aac(HERE / "tone.m4a", samples)


if __name__ == "__main__":
    main()
