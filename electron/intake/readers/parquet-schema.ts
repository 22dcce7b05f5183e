import type { DecodedArray, FileMetaData, SchemaElement } from 'hyparquet'
import type { UnitId } from '../../../workers/units/units.ts'
import type { RawValues, TypedColumn } from './typed-column.ts'

/** A top-level column of a Parquet table. */
export interface ParquetColumn extends TypedColumn {
  /** The name by which the library is asked for it: unlike `name`, never twice the same. */
  readonly key: string
  /** Values as the library gives them -> numbers, or something that stands for "no number". */
  readonly rawOf: (values: DecodedArray) => RawValues
  /** A value to show. */
  readonly shown: (value: unknown) => unknown
}

/** More rows than any flight has: 12 days at 1 kHz. */
const MOST_ROWS = 1e9

/** @throws Error when the counts can't be */
export function checkMetadata({ num_rows, row_groups }: FileMetaData): void {
  const rows = row_groups.reduce((sum, group) => sum + Number(group.num_rows), 0)
  if (rows !== Number(num_rows) || rows < 0) throw new Error(`its groups hold ${rows} rows, not ${num_rows}`)
  if (rows > MOST_ROWS) throw new Error(`it says that it holds ${rows} rows`)
}

/**
 * The top-level columns. Changes the metadata so that the library gives values as they are stored: it would round
 * stamps to milliseconds and decimals by a product, and looks columns up by names that may stand twice.
 */
export function parquetColumns(metadata: FileMetaData): ParquetColumn[] {
  const { schema, row_groups } = metadata
  const columns: ParquetColumn[] = []
  let leaf = 0
  for (let at = 1; at < schema.length;) {
    const element = schema[at] as SchemaElement
    const { name } = element
    const end = endOf(schema, at)
    const leaves = schema.slice(at, end).filter(({ type }) => type !== undefined).length
    const key = `\0${columns.length}`
    element.name = key
    for (const group of row_groups) {
      for (let one = leaf; one < leaf + leaves; one += 1) {
        const path = group.columns[one]?.meta_data?.path_in_schema
        if (!path) throw new Error(`a row group without column ${one}`)
        path[0] = key
      }
    }
    leaf += leaves
    const isFlat = end === at + 1 && element.type !== undefined && element.repetition_type !== 'REPEATED'
    columns.push({ key, name, ...(isFlat ? flatColumn(element) : NESTED) })
    at = end
  }
  return columns
}

/** Where the elements below this one end. */
function endOf(schema: readonly SchemaElement[], at: number): number {
  let end = at + 1
  for (let child = 0; child < (schema[at]?.num_children ?? 0); child += 1) {
    if (end >= schema.length) throw new Error('the schema names more columns than it has')
    end = endOf(schema, end)
  }
  return end
}

type Kind = Omit<ParquetColumn, 'key' | 'name'>
const same = (values: DecodedArray): RawValues => values
const PLAIN: Kind = { kind: 'numbers', stampUnit: null, decimals: 0, rawOf: same, shown: (value) => value }
const NESTED: Kind = { ...PLAIN, kind: 'nested' }
const TEXT: Kind = {
  ...PLAIN,
  kind: 'text',
  rawOf: same,
  shown: (value) => (value instanceof Uint8Array ? new TextDecoder().decode(value) : value),
}

const UNITS: Readonly<Record<string, UnitId>> = {
  MILLIS: 'ms',
  MICROS: 'us',
  NANOS: 'ns',
  TIMESTAMP_MILLIS: 'ms',
  TIMESTAMP_MICROS: 'us',
  TIME_MILLIS: 'ms',
  TIME_MICROS: 'us',
}

function flatColumn(element: SchemaElement): Kind {
  const { type, converted_type: converted, logical_type: logical } = element
  const isDecimal = converted === 'DECIMAL' || logical?.type === 'DECIMAL'
  if (isDecimal) {
    const decimals = element.scale ?? (logical?.type === 'DECIMAL' ? logical.scale : 0)
    asStored(element)
    const bytes = type === 'BYTE_ARRAY' || type === 'FIXED_LEN_BYTE_ARRAY'
    const rawOf = (values: DecodedArray): RawValues =>
      Array.from(values as ArrayLike<Uint8Array | null>, wholeOf)
    return { ...PLAIN, decimals, ...(bytes ? { rawOf } : {}) }
  }
  if (type === 'INT96') return { ...PLAIN, stampUnit: 'ns' }
  if (logical?.type === 'TIMESTAMP' || logical?.type === 'TIME') {
    asStored(element)
    return { ...PLAIN, stampUnit: UNITS[logical.unit] ?? null }
  }
  if (converted !== undefined && converted in UNITS) {
    asStored(element)
    return { ...PLAIN, stampUnit: UNITS[converted] ?? null }
  }
  if (converted === 'DATE' || logical?.type === 'DATE') {
    asStored(element)
    return PLAIN
  }
  if (type === 'FIXED_LEN_BYTE_ARRAY' && logical?.type === 'FLOAT16') return PLAIN
  if (type === 'BYTE_ARRAY' || type === 'FIXED_LEN_BYTE_ARRAY') {
    asStored(element)
    return TEXT
  }
  return PLAIN
}

/** Takes the meaning off a column, so that its values come as they are stored. */
function asStored(element: SchemaElement): void {
  delete element.converted_type
  delete element.logical_type
}

/** A signed whole number from its bytes, the highest first. */
function wholeOf(bytes: Uint8Array | null | undefined): bigint | null {
  if (!bytes) return null
  let value = 0n
  for (const byte of bytes) value = value * 256n + BigInt(byte)
  return bytes.length > 0 && (bytes[0] as number) >= 128 ? value - (1n << BigInt(8 * bytes.length)) : value
}
