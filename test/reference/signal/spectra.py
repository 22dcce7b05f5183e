"""Reference spectra from SciPy for the tests in test/unit/signal.

Run in the project's root with Debian's python3-scipy (1.10.1) beside the shared data:

    /usr/bin/python3 test/reference/signal/spectra.py ../shared/data

Writes test/fixtures/signal/spectra.json. Random input is a linear congruential sequence, so that the tests can
repeat it: x -> (1664525 x + 1013904223) mod 2^32, value x / 2^32 - 0.5.
"""
import csv
import gzip
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


def ecg():
    with gzip.open(shared / 'neutral/ecg-360hz.csv.gz', 'rt') as lines:
        rows = list(csv.reader(lines))
    return numpy.array([float(row[-1]) for row in rows[1:]]), rows[0]


def quad(name, column):
    with open(shared / 'research-quad' / name) as lines:
        rows = list(csv.reader(lines))
    index = rows[0].index(column)
    time = numpy.array([float(row[0]) for row in rows[1:]])
    rate = round((len(time) - 1) / (time[-1] - time[0]), 1)
    return numpy.array([float(row[index]) for row in rows[1:]]), rate


def welch_case(source, samples, rate, segment, overlap, window, detrend):
    names = {'rectangular': 'boxcar'}
    f, p = signal.welch(samples, rate, window=names.get(window, window), nperseg=segment,
                        noverlap=int(segment * overlap), detrend=False if detrend == 'none' else detrend)
    return {'source': source, 'rate_hz': rate, 'segment': segment, 'overlap': overlap, 'window': window,
            'detrend': detrend, 'f_hz_last': f[-1], 'density': p.tolist()}


series, header = ecg()
noise = random_input(7, 3000)
cases = [
    welch_case('ecg', series, 360, 256, .5, 'hann', 'constant'),
    welch_case('ecg', series, 360, 250, .75, 'hamming', 'linear'),
    welch_case('random', noise, 1000, 128, .5, 'hann', 'constant'),
    welch_case('random', noise, 1000, 135, 0, 'rectangular', 'none'),
    welch_case('random', noise, 1000, 90, .75, 'blackman', 'linear'),
]
for name in ('gains-original.csv', 'gains-i0-d4.csv', 'figure-eight.csv'):
    samples, rate = quad(name, 'real_rate.r')
    cases.append(welch_case(name, samples, rate, 256, .5, 'hann', 'constant'))

f, t, s = signal.spectrogram(series, 360, window='hann', nperseg=128, noverlap=96, detrend='constant', mode='psd')
picked = [0, 100, s.shape[1] - 1]
result = {
    'scipy': scipy.__version__,
    'transforms': [{'size': size, 're': numpy.fft.rfft(random_input(size, size)).real.tolist(),
                    'im': numpy.fft.rfft(random_input(size, size)).imag.tolist()} for size in (12, 27, 64, 101)],
    'windows': {name: signal.get_window({'rectangular': 'boxcar'}.get(name, name), 9, fftbins=True).tolist()
                for name in ('rectangular', 'hann', 'hamming', 'blackman')},
    'chiSquare': [{'dof': dof, 'probability': p, 'value': float(stats.chi2.ppf(p, dof))}
                  for dof in (1, 2.5, 20, 36.1, 400) for p in (.025, .5, .975)],
    'welch': cases,
    'spectrogram': {'source': 'ecg', 'rate_hz': 360, 'window': 128, 'hop': 32, 'frames': s.shape[1],
                    'picked': picked, 't_s': t[picked].tolist(), 'density': s[:, picked].T.tolist()},
}
out = pathlib.Path('test/fixtures/signal/spectra.json')
out.write_text(json.dumps(result) + '\n')
print(out, out.stat().st_size, 'bytes;', 'ecg columns', header)
