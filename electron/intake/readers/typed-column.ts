import type { UnitId } from '../../../workers/units/units.ts'
import type { Numbers } from './group-filler.ts'

/** A column of a table that says itself what its columns hold. */
export interface TypedColumn {
  readonly name: string
  /** What is in it; lists, records and the like are left out. */
  readonly kind: 'numbers' | 'text' | 'nested'
  /** Of a column of dates, times or durations. */
  readonly stampUnit: UnitId | null
  /** Numbers are whole multiples of 10^-decimals. */
  readonly decimals: number
}

/** Values as the libraries give them; null and undefined where there is none. */
export type RawValues = ArrayLike<number | bigint | boolean | null | undefined>

/** Brings a column's values to numbers, stretch after stretch: booleans to 0 and 1, missing ones to NaN. */
export class NumberMaker {
  /** The first value, as decimal text, when differences to it are given. */
  origin: string | null = null
  private first: bigint | number | null = null
  private readonly exact: boolean
  private readonly decimals: number

  /** @param exact give differences to the first value, which stay exact where a double would not */
  constructor({ decimals }: TypedColumn, exact: boolean) {
    this.decimals = decimals
    this.exact = exact
  }

  /** The next values as numbers; plain arrays of numbers are passed through as they are. */
  numbers(raw: RawValues): Numbers {
    if (!this.exact && this.decimals === 0 && isNumbers(raw)) return raw
    const out = new Float64Array(raw.length)
    for (let row = 0; row < raw.length; row += 1) out[row] = this.number(raw[row])
    return out
  }

  private number(value: number | bigint | boolean | null | undefined): number {
    if (value === null || value === undefined) return NaN
    if (typeof value === 'boolean') return value ? 1 : 0
    if (!this.exact) return scaled(value, this.decimals)
    if (typeof value === 'number' && !Number.isFinite(value)) return NaN
    if (this.first === null) {
      this.first = value
      this.origin = typeof value === 'bigint' ? decimalText(value, this.decimals) : String(value)
    }
    // Whole numbers of 64 bits are subtracted before anything is rounded.
    if (typeof value === 'bigint' && typeof this.first === 'bigint') {
      return scaled(value - this.first, this.decimals)
    }
    return Number(value) - Number(this.first)
  }
}

function isNumbers(raw: RawValues): raw is Numbers {
  return ArrayBuffer.isView(raw) && !(raw instanceof BigInt64Array) && !(raw instanceof BigUint64Array)
}

/** value * 10^-decimals, correctly rounded. */
function scaled(value: bigint | number, decimals: number): number {
  if (decimals === 0) return Number(value)
  const plain = Number(value)
  // Both exact as doubles: one division rounds once.
  if (Number.isSafeInteger(plain) && decimals <= 22) return plain / 10 ** decimals
  return Number(decimalText(BigInt(value), decimals))
}

/** A whole multiple of 10^-decimals as text. */
export function decimalText(value: bigint, decimals: number): string {
  if (decimals === 0) return value.toString()
  const sign = value < 0n ? '-' : ''
  const digits = (value < 0n ? -value : value).toString().padStart(decimals + 1, '0')
  return `${sign}${digits.slice(0, -decimals)}.${digits.slice(-decimals)}`
}

/** Rows that the look takes of a table of this many columns: about as much as of text. */
export function lookRows(columns: number): number {
  return Math.max(64, Math.min(32_768, Math.floor((2 << 20) / Math.max(1, columns))))
}

/** A value for the pilot to recognise the column by. */
export function exampleText(value: unknown): string {
  if (value === null || value === undefined) return ''
  return typeof value === 'string' ? value.slice(0, 40) : String(value)
}
