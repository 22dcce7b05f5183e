// Pairs of short cells, which most cells of a log are. Part of rows.as.
//
// Two neighbouring cells of 32-bit columns, each of at most 8 characters besides a minus, are read at once, a cell in
// each half of a vector: one place in the table of byte orders takes out the decimal sign, three dot products add up
// the digits, one multiplication gives both doubles.
//
// The digits are multiplied by 10^-k, k <= 7, instead of being divided by 10^k. That double is at most 2^-52 beside the
// quotient, and rounds to the same 32 bits: a quotient w / 10^k of an integer w < 10^8 is further than 2^-49 from any
// middle m between two 32-bit numbers, or is one. (Both are fractions with denominators 10^k and a power of two; m has
// 25 significant bits, so that unlike ones differ by at least m / (2^25 10^7).) It is one only for k = 0, where the
// factor is exact, and for k = 1 and w = 10 m > 2^26, where the product's error of 2^-54 is less than half a unit.

// @ts-nocheck

// Set in a column's entry when it and the next are 32-bit columns, the next is not the last one, and pairs that begin
// there are short.
export const PAIRED: usize = 16

export const POWERS: StaticArray<f64> = [
  1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20,
  1e21, 1e22,
]

// Constants lie in memory: loading one costs less than making it anew for every cell.
export const ZEROS: usize = memory.data<u8>([48, 48, 48, 48, 48, 48, 48, 48, 48, 48, 48, 48, 48, 48, 48, 48], 16)
// Added with saturation, these set the highest bit of every byte above 9.
export const ABOVE_NINE: usize = memory.data<u8>(
  [118, 118, 118, 118, 118, 118, 118, 118, 118, 118, 118, 118, 118, 118, 118, 118],
  16,
)
export const TENS: usize = memory.data<u8>([10, 1, 10, 1, 10, 1, 10, 1, 10, 1, 10, 1, 10, 1, 10, 1], 16)
export const HUNDREDS: usize = memory.data<i16>([100, 1, 100, 1, 100, 1, 100, 1], 16)
export const THOUSANDS: usize = memory.data<i16>([10000, 1, 10000, 1, 10000, 1, 10000, 1], 16)

// Where each digit of a cell comes from when its decimal sign stands in the half's place 0..7 (8: there is none); then the
// same for the other half. A sign in the last place stays, and is found to be no digit.
const PLACES: usize = memory.data(2 * 16 * 8, 16)
// For each length of a cell, which of the eight characters before its end are its own.
const OWN: usize = memory.data(9 * 8, 16)
// By the place of the decimal sign, what the digits are multiplied by; then the same for negative numbers.
const FACTORS: usize = memory.data(2 * 16 * 8, 16)
const OTHER: usize = 16 * 8

// How many columns `pairs` has read.
export let taken: i32 = 0

export function fillPairTables(): void {
  for (let sign = 0; sign <= 8; sign++) {
    const at = <usize>sign << 3
    for (let place = 0; place < 8; place++) {
      const from = sign < 7 && place <= sign ? place - 1 : place
      // An index that is out of range gives the digit 0.
      store<u8>(PLACES + at + place, <u8>(from < 0 ? 0x80 : from))
      store<u8>(PLACES + OTHER + at + place, <u8>(from < 0 ? 0x80 : from + 8))
      // `sign` as a length.
      store<u8>(OWN + at + place, place >= 8 - sign ? 0xff : 0)
    }
    const factor = 1 / unchecked(POWERS[sign < 7 ? 7 - sign : 0])
    store<f64>(FACTORS + at, factor)
    store<f64>(FACTORS + OTHER + at, -factor)
  }
}

// Reads pairs of cells from `from`, the first of which belongs to the column of `firstEntry`, as long as they are short;
// `rowAt` is the row's place in a plane. Returns where it stopped, the beginning of the next cell. A newline is no
// digit, so that a row that is too short ends the pairs.
export function readPairs(from: usize, firstEntry: usize, entryBytes: usize, rowAt: usize, stride: usize, separator: u32, decimal: u32): usize {
  const separators = i8x16.splat(<u8>separator)
  const signFigures = i8x16.splat(<u8>(decimal - 48))
  const zeros = v128.load(ZEROS)
  const aboveNine = v128.load(ABOVE_NINE)
  const tens = v128.load(TENS)
  const hundreds = v128.load(HUNDREDS)
  const thousands = v128.load(THOUSANDS)
  let entry = firstEntry
  // Eight bytes before the cell: so far back the eight characters before its end may reach.
  let before = from - 8
  let plane = <usize>load<u32>(entry, 4) + rowAt
  do {
    const stops =
      i8x16.bitmask(i8x16.eq(v128.load(before, 8), separators)) |
      (i8x16.bitmask(i8x16.eq(v128.load(before, 24), separators)) << 16)
    const first = <usize>ctz(stops)
    const second = <usize>ctz(stops & (stops - 1))
    const endA = before + first
    const endB = before + second
    const minusA = <usize>(load<u8>(before, 8) == 45)
    const minusB = <usize>(load<u8>(endA, 9) == 45)
    const lengthA = first - minusA
    // And one more for the separator.
    const lengthB = second - first - minusB
    if (((lengthA - 1) | (lengthB - 2)) >= 8) break
    const text = v128.load64_lane(endB, v128.load64_zero(endA), 1)
    const own = v128.load64_lane(OWN - 8 + (lengthB << 3), v128.load64_zero(OWN + (lengthA << 3)), 1)
    const figures = v128.and(i8x16.sub(text, zeros), own)
    const signs = i8x16.bitmask(i8x16.eq(figures, signFigures))
    const signA = <usize>ctz((signs & 0xff) | 0x100)
    const signB = <usize>ctz((signs >> 8) | 0x100)
    const places = v128.load64_lane(PLACES + OTHER + (signB << 3), v128.load64_zero(PLACES + (signA << 3)), 1)
    const digits = i8x16.relaxed_swizzle(figures, places)
    if (i8x16.bitmask(i8x16.add_sat_u(digits, aboveNine))) break
    const twos = i16x8.relaxed_dot_i8x16_i7x16_s(digits, tens)
    const fours = i32x4.dot_i16x8_s(twos, hundreds)
    const eights = i32x4.dot_i16x8_s(i16x8.narrow_i32x4_s(fours, fours), thousands)
    const factors = v128.load64_lane(
      FACTORS + ((minusB << 4 | signB) << 3),
      v128.load64_zero(FACTORS + ((minusA << 4 | signA) << 3)),
      1,
    )
    const both = f32x4.demote_f64x2_zero(f64x2.mul(f64x2.convert_low_i32x4_s(eights), factors))
    v128.store32_lane(plane, both, 0)
    v128.store32_lane(plane + stride, both, 1)
    plane += stride << 1
    entry += entryBytes << 1
    before = endB + 1
  } while (load<u8>(entry, PAIRED))
  taken = <i32>((entry - firstEntry) / entryBytes)
  // What is not short once seldom is in the next row: not tried again before the planes are full.
  store<u8>(entry, 0, PAIRED)
  return before + 8
}
