import { DataType, TimeUnit, type Data, type Decimal, type Field, type RecordBatch } from 'apache-arrow'
import type { UnitId } from '../../../workers/units/units.ts'
import type { RawValues, TypedColumn } from './typed-column.ts'

/** A column of an Arrow table. */
export interface ArrowColumn extends TypedColumn {
  /** The column's numbers in a batch, as they are stored. */
  readonly rawOf: (batch: RecordBatch, index: number) => RawValues
  /** The column's values in a batch, to be shown. */
  readonly shownOf: (batch: RecordBatch, index: number) => ArrayLike<unknown>
}

const UNITS: Readonly<Record<TimeUnit, UnitId>> = {
  [TimeUnit.SECOND]: 's',
  [TimeUnit.MILLISECOND]: 'ms',
  [TimeUnit.MICROSECOND]: 'us',
  [TimeUnit.NANOSECOND]: 'ns',
}

/** What a field of the schema holds. */
export function arrowColumn({ name, type }: Field): ArrowColumn {
  const stored = { name, rawOf: storedValues, shownOf: storedValues, stampUnit: null, decimals: 0 }
  const given = { ...stored, rawOf: givenValues as ArrowColumn['rawOf'], shownOf: givenValues }
  if (DataType.isTimestamp(type) || DataType.isTime(type) || DataType.isDuration(type)) {
    return { ...stored, kind: 'numbers', stampUnit: UNITS[type.unit] }
  }
  if (DataType.isDate(type)) return { ...stored, kind: 'numbers' }
  if (DataType.isInt(type)) return { ...stored, kind: 'numbers' }
  // Half precision is stored as bits, booleans as well; a column of the type "null" has nothing stored.
  if (DataType.isFloat(type)) return { ...(type.precision === 0 ? given : stored), kind: 'numbers' }
  if (DataType.isBool(type) || DataType.isNull(type)) return { ...given, kind: 'numbers' }
  if (DataType.isDecimal(type)) {
    return { ...given, kind: 'numbers', decimals: Math.max(0, type.scale), rawOf: decimalsOf(type) }
  }
  if (DataType.isDictionary(type)) {
    const { dictionary } = type
    const isNumber = DataType.isInt(dictionary) || DataType.isFloat(dictionary)
    return { ...given, kind: isNumber ? 'numbers' : isText(dictionary) ? 'text' : 'nested' }
  }
  return { ...given, kind: isText(type) ? 'text' : 'nested' }
}

function isText(type: DataType): boolean {
  return (
    DataType.isUtf8(type) ||
    DataType.isLargeUtf8(type) ||
    DataType.isBinary(type) ||
    DataType.isLargeBinary(type) ||
    DataType.isFixedSizeBinary(type)
  )
}

function dataOf(batch: RecordBatch, index: number): Data {
  return batch.data.children[index] as Data
}

/** Whole arrays as they are, copies where some values are missing. */
function storedValues(batch: RecordBatch, index: number): RawValues {
  const data = dataOf(batch, index)
  const values = (data.values as Float64Array | BigInt64Array).subarray(0, data.length)
  if (data.nullCount === 0) return values
  // Bit by bit: the library's own question whether a value is there takes ten times as long.
  const { nullBitmap, offset } = data
  const isValid = (row: number): boolean =>
    (((nullBitmap[(offset + row) >> 3] as number) >> ((offset + row) & 7)) & 1) === 1
  if (values instanceof BigInt64Array || values instanceof BigUint64Array) {
    const some = values as BigInt64Array
    return Array.from({ length: data.length }, (_, row) => (isValid(row) ? some[row] : null))
  }
  const numbers = Float64Array.from(values)
  for (let row = 0; row < numbers.length; row += 1) if (!isValid(row)) numbers[row] = NaN
  return numbers
}

/** Values as the library gives them one by one. */
function givenValues(batch: RecordBatch, index: number): unknown[] {
  const vector = batch.getChildAt(index)
  return Array.from({ length: batch.numRows }, (_, row) => vector?.get(row) as unknown)
}

/** Decimals as whole numbers: 32-bit words, the lowest first, signed. */
function decimalsOf(type: Decimal): ArrowColumn['rawOf'] {
  const words = type.bitWidth / 32
  return (batch, index) => {
    const data = dataOf(batch, index)
    const values = data.values as Uint32Array
    return Array.from({ length: data.length }, (_, row) => {
      if (!data.getValid(row)) return null
      let value = 0n
      for (let word = words - 1; word >= 0; word -= 1)
        value = (value << 32n) | BigInt(values[row * words + word] ?? 0)
      return BigInt.asIntN(type.bitWidth, value)
    })
  }
}
