"""Writes test/fixtures/intake/typed/*: the same small flight as Parquet and Arrow tables by an outside writer.

    pip install pyarrow        (25.0.1 was used)
    python3 test/reference/intake/typed_tables.py

600 rows at 1 kHz. Stamps are whole nanoseconds since 1970 with an uneven step, near 1.7e18; every 7th pitch rate is
missing; decimals carry three places. test/unit/intake/typed-tables.test.ts makes the same numbers by the same
formulas, which use whole numbers and quarters, and compares.
"""

import decimal
import pathlib

import pyarrow as pa
import pyarrow.feather as feather
import pyarrow.parquet as pq

ROWS = 600
FIRST_NS = 1_700_000_000_123_456_789
OUT = pathlib.Path(__file__).parents[2] / "fixtures" / "intake" / "typed"


def stamp_ns(k):
    return FIRST_NS + 1_000_000 * k + (k * 37) % 101


def roll(k):
    """A triangle of +-250 deg/s in steps of 1/4: exact in 32 bits."""
    phase = k % 400
    return (phase - 100 if phase < 200 else 300 - phase) * 2.5


def setpoint(k):
    return roll(k + 12)


def table():
    rows = range(ROWS)
    pitch = [None if k % 7 == 0 else roll(k) / 2 for k in rows]
    return pa.table(
        {
            "stamp": pa.array([stamp_ns(k) for k in rows], pa.timestamp("ns")),
            "gyro.roll [deg/s]": pa.array([roll(k) for k in rows], pa.float32()),
            "gyro.pitch [deg/s]": pa.array(pitch, pa.float64()),
            "gyro.yaw [deg/s]": pa.array([(k * 7) % 31 - 15 for k in rows], pa.int16()),
            "setpoint.roll [deg/s]": pa.array([setpoint(k) for k in rows], pa.float32()),
            "throttle [%]": pa.array([decimal.Decimal(40_000 + (k * 331) % 700).scaleb(-3) for k in rows], pa.decimal128(9, 3)),
            "armed": pa.array([k >= 100 for k in rows], pa.bool_()),
            "counter": pa.array([2**40 + k * k for k in rows], pa.uint64()),
            "mode": pa.array(["hold" if k < 300 else "free" for k in rows]).dictionary_encode(),
            "note": pa.array([f"row {k}" for k in rows], pa.string()),
            "position": pa.array([[k, k + 1] for k in rows], pa.list_(pa.int32())),
        },
        metadata={"craft": "Green wasp", "date": "2023-11-14"},
    )


def main():
    OUT.mkdir(parents=True, exist_ok=True)
    flight = table()
    for packing in ["none", "snappy", "gzip", "brotli", "zstd", "lz4"]:
        # Several row groups and pages, none of them a multiple of 64 rows.
        pq.write_table(
            flight,
            OUT / f"flight-{packing}.parquet",
            compression=packing,
            row_group_size=250,
            data_page_size=1024,
            use_dictionary=["mode"] if packing != "snappy" else True,
            data_page_version="2.0" if packing == "zstd" else "1.0",
            write_page_index=packing == "gzip",
        )
    with pa.OSFile(str(OUT / "flight.arrow"), "wb") as out, pa.ipc.new_file(out, flight.schema) as writer:
        writer.write_table(flight, max_chunksize=250)
    with pa.OSFile(str(OUT / "flight.arrows"), "wb") as out, pa.ipc.new_stream(out, flight.schema) as writer:
        writer.write_table(flight, max_chunksize=250)
    for packing in ["lz4", "zstd"]:
        feather.write_feather(flight, str(OUT / f"flight-{packing}.feather"), compression=packing, chunksize=250)
    small = flight.select(["stamp", "gyro.roll [deg/s]"]).slice(0, 20)
    # Old stamps of 96 bits, and stamps in microseconds.
    pq.write_table(small, OUT / "int96.parquet", use_deprecated_int96_timestamps=True)
    pq.write_table(small, OUT / "micros.parquet", coerce_timestamps="us", allow_truncated_timestamps=True)
    pq.write_table(flight.select(["position", "note"]).slice(0, 20), OUT / "nested-only.parquet")
    pq.write_table(small.slice(0, 0), OUT / "no-rows.parquet")


if __name__ == "__main__":
    main()
