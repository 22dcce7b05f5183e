#!/usr/bin/python3
"""Writes test/fixtures/intake/generated/*: made tables in several dialects by Python's csv, and what csv and numpy read
back from them, as 64-bit and as 32-bit numbers.

Run from the project's root, with Debian's python3-numpy (1.24.2 was used):
    /usr/bin/python3 test/reference/intake/generated_tables.py
    node test/reference/intake/generated_duckdb.mjs
"""
import csv
import json
import pathlib
import random

import numpy

OUT = pathlib.Path(__file__).parents[2] / 'fixtures' / 'intake' / 'generated'
ROWS = 48
NAMES = ['time (s)', 'gyro roll', 'gyro, pitch', 'height', 'tiny']
DIALECTS = {
    'comma': (',', '.', '\n', 'utf-8', csv.QUOTE_MINIMAL),
    'semicolon': (';', ',', '\r\n', 'utf-8-sig', csv.QUOTE_MINIMAL),
    'tab': ('\t', '.', '\n', 'utf-8', csv.QUOTE_MINIMAL),
    'bar': ('|', '.', '\r\n', 'utf-16', csv.QUOTE_MINIMAL),
    'quoted': (',', '.', '\n', 'utf-8', csv.QUOTE_ALL),
}


def cells(chance, row):
    """One row as written: plain, long, with exponent, whole, and very small numbers."""
    return [
        f'{row * 0.0025:.4f}',
        f'{chance.uniform(-300, 300):.{row % 7}f}',
        repr(chance.uniform(-300, 300)),
        str(chance.randrange(-10**9, 10**9)),
        f'{chance.uniform(-1, 1) * 10.0 ** chance.randrange(-30, 20):.{row % 17}e}',
    ]


def main():
    OUT.mkdir(parents=True, exist_ok=True)
    known = {}
    for index, (name, (separator, decimal, newline, encoding, quoting)) in enumerate(DIALECTS.items()):
        chance = random.Random(index)
        path = OUT / f'{name}.csv'
        with open(path, 'w', newline='', encoding=encoding) as file:
            writer = csv.writer(file, delimiter=separator, lineterminator=newline, quoting=quoting)
            writer.writerow(NAMES)
            for row in range(ROWS):
                writer.writerow([cell.replace('.', decimal) for cell in cells(chance, row)])
        with open(path, newline='', encoding=encoding) as file:
            rows = list(csv.reader(file, delimiter=separator))
        values = numpy.array([[cell.replace(decimal, '.') for cell in row] for row in rows[1:]], dtype=float)
        known[name] = {
            'names': rows[0],
            'doubles': values.T.tolist(),
            'singles': values.astype(numpy.float32).astype(float).T.tolist(),
        }
    (OUT / 'numpy.json').write_text(json.dumps(known) + '\n')


main()
