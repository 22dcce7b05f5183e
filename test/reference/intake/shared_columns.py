#!/usr/bin/python3
"""Sums, root mean squares and ranges of every column of the shared logs, by Python's csv and numpy.

Run from the project's root, with Debian's python3-numpy:
    /usr/bin/python3 test/reference/intake/shared_columns.py ../shared/data > test/fixtures/intake/shared-columns.json
"""
import csv
import gzip
import json
import sys

import numpy

FILES = [
    'research-quad/gains-original.csv',
    'research-quad/gains-i0-d4.csv',
    'research-quad/figure-eight.csv',
    'research-quad/controller-a.csv',
    'research-quad/controller-b.csv',
    'neutral/bursty-clock.csv',
    'neutral/ecg-360hz.csv.gz',
]


def read(path):
    opener = gzip.open if path.endswith('.gz') else open
    with opener(path, 'rt', newline='') as file:
        rows = list(csv.reader(file))
    return rows[0], numpy.array(rows[1:], dtype=float)


result = {}
for name in FILES:
    header, values = read(f'{sys.argv[1]}/{name}')
    single = values.astype(numpy.float32).astype(float)
    result[name] = {
        'rows': len(values),
        'columns': [
            {
                'name': header[column],
                'sum': float(values[:, column].sum()),
                'rms': float(numpy.sqrt((values[:, column] ** 2).mean())),
                'sumOfSingles': float(single[:, column].sum()),
                'min': float(values[:, column].min()),
                'max': float(values[:, column].max()),
            }
            for column in range(len(header))
        ],
    }
json.dump(result, sys.stdout, indent=1)
print()
