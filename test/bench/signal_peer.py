"""SciPy's and FFTW's times for signal.bench.ts: /usr/bin/python3 test/bench/signal_peer.py ROUNDS

FFTW in single precision does the whole of the same work in C (signal_fftw.c) where gcc and libfftw3f are
installed. Prints JSON with the mean of the rounds in ms of this
thread's processor time, which a busy machine distorts less than the clock on the wall.
"""
import ctypes
import json
import pathlib
import subprocess
import sys
import tempfile
import time

import numpy
from scipy import signal

COUNT, RATE = 600_000, 2000
rounds = int(sys.argv[1])
n = numpy.arange(COUNT)
noise = numpy.random.default_rng(1).random(COUNT)
u = (200 * numpy.sin(n / 90) + 30 * numpy.sin(n / 17) + noise).astype(numpy.float32)
y = numpy.concatenate([numpy.zeros(9, numpy.float32), u[:-9]]) + (5 * numpy.sin(.7 * n)).astype(numpy.float32)


def cost(run):
    run()
    start = time.thread_time()
    for _ in range(rounds):
        run()
    return 1000 * (time.thread_time() - start) / rounds


def spectrograms():
    for _ in range(3):
        _, _, s = signal.spectrogram(u, RATE, window='hann', nperseg=512, noverlap=448, detrend='constant', mode='psd')
        10 * numpy.log10(s)


def fftw_ms():
    """signal_fftw.c compiled and run; None where gcc or the library is missing."""
    source = pathlib.Path(__file__).with_name('signal_fftw.c')
    with tempfile.TemporaryDirectory() as folder:
        built = pathlib.Path(folder) / 'signal_fftw.so'
        try:
            subprocess.run(['gcc', '-O3', '-march=native', '-ffast-math', '-shared', '-fPIC', '-o', built, source,
                            '-l:libfftw3f.so.3', '-lm'], check=True, capture_output=True)
        except (OSError, subprocess.CalledProcessError):
            return None
        library = ctypes.CDLL(str(built))
        library.prepare()
        frames = (COUNT - 512) // 64 + 1
        levels = [numpy.zeros((frames, 257), numpy.float32) for _ in range(3)]
        scale = ctypes.c_float(1 / (RATE * 192))

        def run():
            for level in levels:
                library.spectrogram(u.ctypes.data_as(ctypes.c_void_p), frames, 64, scale,
                                    level.ctypes.data_as(ctypes.c_void_p))

        return cost(run)


doubles = u.astype(float), y.astype(float)
chain = signal.butter(4, 80, fs=RATE, output='sos')
print(json.dumps({
    'spectrogram_ms': cost(spectrograms),
    'coherence_ms': cost(lambda: signal.coherence(*doubles, fs=RATE, nperseg=512)),
    'zeroPhase_ms': cost(lambda: signal.sosfiltfilt(chain, doubles[0])),
    'correlate_ms': cost(lambda: signal.correlate(*doubles, method='fft')),
    'fftw_ms': fftw_ms(),
}))
