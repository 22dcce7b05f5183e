/**
 * What DuckDB reads from the tables that generated_tables.py made, and the flight of typed_tables.py as Parquet by
 * DuckDB's writer. Run from the project's root with Node 24, after `npm i --no-save @duckdb/node-api` (or with its
 * path in TWOPACK_DUCKDB); 1.5 was used:
 *     node test/reference/intake/generated_duckdb.mjs
 */
import { writeFileSync } from 'node:fs'
import { join } from 'node:path'

const { DuckDBInstance, version } = await import(process.env['TWOPACK_DUCKDB'] ?? '@duckdb/node-api')
const connection = await (await DuckDBInstance.create(':memory:')).connect()
const fixtures = join(import.meta.dirname, '../../fixtures/intake')

const DIALECTS = {
  comma: "delim = ','",
  semicolon: "delim = ';', decimal_separator = ','",
  tab: "delim = '\t'",
  quoted: "delim = ','",
}
const known = {}
for (const [name, how] of Object.entries(DIALECTS)) {
  const from = `read_csv('${join(fixtures, 'generated', `${name}.csv`)}', header = true, all_varchar = false, ${how}, types = ['DOUBLE', 'DOUBLE', 'DOUBLE', 'DOUBLE', 'DOUBLE'])`
  const doubles = await connection.runAndReadAll(`select * from ${from}`)
  const singles = await connection.runAndReadAll(`select columns(*)::float from ${from}`)
  known[name] = {
    names: doubles.columnNames(),
    doubles: doubles.getColumns(),
    singles: singles.getColumns(),
  }
}
writeFileSync(join(fixtures, 'generated', 'duckdb.json'), `${JSON.stringify(known)}\n`)

const roll = (k) => `(case when (${k}) % 400 < 200 then (${k}) % 400 - 100 else 300 - (${k}) % 400 end * 2.5)`
const flight = `
  select
    make_timestamp_ns(1700000000123456789 + 1000000 * k + (k * 37) % 101) as "stamp",
    ${roll('k')}::float as "gyro.roll [deg/s]",
    case when k % 7 = 0 then null else ${roll('k')}::double / 2 end as "gyro.pitch [deg/s]",
    ((k * 7) % 31 - 15)::smallint as "gyro.yaw [deg/s]",
    ${roll('k + 12')}::float as "setpoint.roll [deg/s]",
    ((40000 + (k * 331) % 700)::decimal(9, 0) / 1000)::decimal(9, 3) as "throttle [%]",
    k >= 100 as "armed",
    (1099511627776 + k * k)::ubigint as "counter",
    case when k < 300 then 'hold' else 'free' end as "mode",
    'row ' || k as "note",
    [k::int, k::int + 1] as "position"
  from range(600) as rows(k)`
for (const packing of ['zstd', 'snappy']) {
  const path = join(fixtures, 'typed', `flight-duckdb-${packing}.parquet`)
  await connection.run(
    `copy (${flight}) to '${path}' (format parquet, compression ${packing}, row_group_size 2048, kv_metadata {craft: 'Green wasp', date: '2023-11-14'})`,
  )
}
// A long table, for stopping within it: two million rows that pack to next to nothing.
await connection.run(
  `copy (select k * 500 as time_us, (k % 200)::float as gyro_roll, (k % 90)::float as gyro_pitch from range(2000000) as rows(k))
   to '${join(fixtures, 'typed', 'long.parquet')}' (format parquet, compression zstd, parquet_version v2)`,
)
console.log(version?.() ?? '')
