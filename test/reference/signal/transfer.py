"""Reference cross-spectra, filters and quantiles from SciPy for the tests in test/unit/signal.

Run in the project's root with Debian's python3-scipy (1.10.1) beside the shared data:

    /usr/bin/python3 test/reference/signal/transfer.py ../shared/data

Writes test/fixtures/signal/transfer.json. Random input as in spectra.py.
"""
import csv
import json
import pathlib
import sys

import numpy
import scipy
from scipy import signal, stats

shared = pathlib.Path(sys.argv[1])


def random_input(seed, count):
    values = numpy.empty(count)
    state = seed
    for n in range(count):
        state = (1664525 * state + 1013904223) % 2**32
        values[n] = state / 2**32 - 0.5
    return values


def columns(name):
    with open(shared / 'research-quad' / name) as lines:
        rows = list(csv.reader(lines))
    return {key: numpy.array([float(row[k]) for row in rows[1:]]) for k, key in enumerate(rows[0])}


def cross_case(source, u, y, rate, segment, overlap, window, detrend):
    options = dict(fs=rate, window=window, nperseg=segment, noverlap=int(segment * overlap), detrend=detrend)
    f, uy = signal.csd(u, y, **options)
    _, g2 = signal.coherence(u, y, **options)
    return {'source': source, 'rate_hz': rate, 'segment': segment, 'overlap': overlap, 'window': window,
            'detrend': detrend, 'uyRe': uy.real.tolist(), 'uyIm': uy.imag.tolist(), 'coherence': g2.tolist()}


a, b = random_input(3, 4000), random_input(4, 4000)
mixed = a + numpy.roll(a, 3) * .5 + .3 * b
quad = columns('gains-original.csv')
crosses = [
    cross_case('random', a, mixed, 1000, 128, .5, 'hann', 'constant'),
    cross_case('random', a, mixed, 1000, 75, .75, 'blackman', 'linear'),
    cross_case('gains-original', quad['target_rate.r'], quad['real_rate.r'], 100.1, 256, .5, 'hann', 'constant'),
]

x = random_input(9, 400) + 2
filters = []
for kind, chain in (
    ('low-pass 4', signal.butter(4, 80, fs=2000, output='sos')),
    ('low-pass 2', signal.butter(2, 100, fs=2000, output='sos')),
    ('high-pass 4', signal.butter(4, 30, 'highpass', fs=2000, output='sos')),
    ('low-pass 6', signal.butter(6, 200, fs=2000, output='sos')),
):
    f = numpy.array([1., 50, 100, 400])
    _, h = signal.sosfreqz(chain, worN=f, fs=2000)
    filters.append({'kind': kind, 'f_hz': f.tolist(), 're': h.real.tolist(), 'im': h.imag.tolist(),
                    'causal': signal.sosfilt(chain, x)[::10].tolist(),
                    'zeroPhase': signal.sosfiltfilt(chain, x)[::10].tolist()})
notch = signal.iirnotch(200, 5, fs=8000)
peak = signal.iirpeak(200, 5, fs=8000)
result = {
    'scipy': scipy.__version__,
    'cross': crosses,
    'filters': filters,
    'notch': {'b': (notch[0]).tolist(), 'a': notch[1].tolist()},
    'peak': {'b': (peak[0]).tolist(), 'a': peak[1].tolist()},
    'student': [{'dof': dof, 'probability': p, 'value': float(stats.t.ppf(p, dof))}
                for dof in (5, 11, 30) for p in (.6, .975, .995)],
    'normal': [{'probability': p, 'value': float(stats.norm.ppf(p))} for p in (1e-4, .025, .3, .5, .9, .99)],
}
out = pathlib.Path('test/fixtures/signal/transfer.json')
out.write_text(json.dumps(result) + '\n')
print(out, out.stat().st_size, 'bytes')
