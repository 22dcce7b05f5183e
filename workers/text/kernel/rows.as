// The inner loop of reading delimited text, in AssemblyScript. rows-wasm.ts holds this file compiled;
// electron/build-kernels.ts compiles it. row-parser.ts drives it and decides what odd cells and rows mean.
//
// Memory, laid out by row-parser.ts: a table of 24 bytes a column, small planes that values are written to, those of the
// groups with their min/max levels, and last the text, followed by one byte that this kernel sets.
//
// Numbers: digits are gathered in an integer of 64 bits. When it is below 2^53 and the power of ten between 1e-22 and
// 1e22, one division or multiplication of doubles gives the correctly rounded double (both operands are exact). For a
// 32-bit column more digits do, as long as the double's own error can't change the rounding to 32 bits. Everything
// else is left to `slow`, which reads the cell as text.
// Nearly every cell is a plain decimal of at most 15 characters. Those are read without a branch per digit: the 16 bytes
// from the cell's start are compared with separator and decimal sign at once, the digits moved to the right end by a
// table of byte orders, and added up in pairs, fours and eights. Short ones are read two at a time (pairs.as).

// @ts-nocheck

import { ABOVE_NINE, fillPairTables, HUNDREDS, PAIRED, POWERS, readPairs, taken, TENS, THOUSANDS, ZEROS } from './pairs'

export { spill32, spill64 } from './planes'

// Reads a cell as text: column, start, end. Gives its value, or NaN after setting `odd`.
@external('env', 'slow')
declare function slow(column: i32, start: usize, end: usize): f64

const SKIP: u8 = 0
const F32: u8 = 1
const F64: u8 = 2
// A difference to the first value, whose digits stand in the table as an integer.
const EXACT: u8 = 3

// What `parse` came back for.
const MORE: i32 = 0
const FULL: i32 = 1
const ODD: i32 = 2
const WRONG: i32 = 3

// A column's entry in the table: kind (u8), 1 when the origin is set (u8), its decimals (u16), address of its
// plane (u32), origin (i64), PAIRED (u8) (u8), spare. Behind the last stands one of zeros.
const ENTRY: usize = 24

export let pos: usize = 0
export let recordStart: usize = 0
export let cells: i32 = 0
export let line: i32 = 0
export let breaks: i32 = 0
export let row: i32 = 0
export let odd: i32 = 0
// Rows that the small planes hold before `parse` comes back.
export let limit: i32 = 0

let separator: u32 = 0
let decimal: u32 = 0
let newline: u32 = 0
let columns: i32 = 0
let trailing: i32 = 0
let table: usize = 0
// Bytes from one 32-bit column's small plane to the next one's.
let stride: usize = 0

// For a cell of `length` characters whose decimal sign stands at `dot` (at `length`: none): where each digit comes from.
const ORDERS: usize = memory.data(16 * 16 * 16, 16)
const MINUS: usize = memory.data<u8>(
  [0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 3, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0],
  16,
)

function fillOrders(): void {
  for (let length = 0; length < 16; length++) {
    for (let dot = 0; dot < 16; dot++) {
      const order = ORDERS + ((length << 4 | dot) << 4)
      for (let place = 0; place < 16; place++) {
        let from = place + length - 16
        if (dot < length && from <= dot) from--
        // An index that is out of range gives the digit 0.
        store<u8>(order + place, <u8>(from < 0 ? 0x80 : from))
      }
    }
  }
}

export function start(
  separatorByte: u32,
  decimalByte: u32,
  newlineByte: u32,
  columnCount: i32,
  trailingSeparator: i32,
  tableAt: usize,
  planeStride: usize,
): void {
  separator = separatorByte
  decimal = decimalByte
  newline = newlineByte
  columns = columnCount
  trailing = trailingSeparator
  table = tableAt
  stride = planeStride
  fillOrders()
  fillPairTables()
}

// Lets pairs be tried again wherever two 32-bit columns stand side by side. A row's last cell is read by itself.
export function renewPairs(): void {
  for (let column = 0; column < columns; column++) {
    const entry = table + <usize>column * ENTRY
    const may = separator != 32 && column + 2 < columns && load<u8>(entry) == F32 && load<u8>(entry, ENTRY) == F32
    store<u8>(entry, <u8>may, PAIRED)
  }
}

// The position of the separator or line end after a cell; quotes protect both.
function endOfCell(from: usize, end: usize): usize {
  let at = from
  if (separator != 32) while (at < end && load<u8>(at) == 32) at++
  let quoted = false
  if (at < end && load<u8>(at) == 34) {
    quoted = true
    at++
  }
  for (; at < end; at++) {
    const byte: u32 = load<u8>(at)
    if (byte == 34 && quoted) {
      if (at + 1 < end && load<u8>(at + 1) == 34) at++
      else quoted = false
    } else if (quoted) {
      if (byte == newline) breaks++
    } else if (byte == separator || byte == newline) return at
    else if (byte == 13 && load<u8>(at + 1) == newline) return at
  }
  return end
}

@inline
function ends(byte: u32): bool {
  return byte == separator || byte == newline || byte == 13
}

// Parses whole records from `from`; with `final`, the end of the text ends the record. The byte at `end` is ours.
export function parse(from: usize, end: usize, final: bool): i32 {
  // A sentinel: no digit, and the end of a cell in every dialect, so that the loops need not look where the end is.
  store<u8>(end, <u8>newline)
  const spaces = separator == 32
  const separators = i8x16.splat(<u8>separator)
  const newlines = i8x16.splat(<u8>newline)
  const returns = i8x16.splat(13)
  const decimals = i8x16.splat(<u8>decimal)
  let at = from
  while (true) {
    recordStart = at
    odd = 0
    breaks = 0
    if (at >= end) {
      pos = at
      return MORE
    }
    let byte: u32 = load<u8>(at)
    if (byte == newline) {
      at++
      line++
      continue
    }
    if (byte == 35 || byte == 37 || byte == 47) {
      // A comment among the rows.
      while (load<u8>(at) != newline) at++
      if (at >= end) {
        pos = final ? end : recordStart
        return MORE
      }
      at++
      line++
      continue
    }
    if (spaces) {
      while (at < end && load<u8>(at) == 32) at++
      if (at >= end) {
        pos = final ? end : recordStart
        return MORE
      }
      byte = load<u8>(at)
      if (byte == newline) {
        at++
        line++
        continue
      }
    }
    if (byte == 13 && load<u8>(at + 1) == newline) {
      if (at + 1 >= end && !final) {
        pos = recordStart
        return MORE
      }
      at += 2
      if (at > end) at = end
      line++
      continue
    }
    let column: i32 = 0
    let entry = table
    while (true) {
      let settled = false
      if (load<u8>(entry, PAIRED)) {
        at = readPairs(at, entry, ENTRY, <usize>row << 2, stride, separator, decimal)
        column += taken
        entry += taken * ENTRY
      }
      const kind: u8 = column < columns ? load<u8>(entry) : SKIP
      if (kind == SKIP) {
        at = endOfCell(at, end)
      } else {
        if (kind != EXACT && !spaces) {
          const text = v128.load(at)
          const stops = i8x16.bitmask(
            v128.or(v128.or(i8x16.eq(text, separators), i8x16.eq(text, newlines)), i8x16.eq(text, returns)),
          )
          const length = ctz(stops)
          const dot = ctz(stops | i8x16.bitmask(i8x16.eq(text, decimals)))
          const minus = <i32>(load<u8>(at) == 45)
          // Neither empty nor a lone sign, and no decimal sign at the end.
          if (stops != 0 && length != minus && dot + 1 != length) {
            // A minus becomes a leading zero.
            const zeros = i8x16.sub(v128.load(ZEROS), v128.load(MINUS + (<usize>minus << 4)))
            const places = v128.load(ORDERS + (<usize>(length << 4 | dot) << 4))
            const figures = i8x16.relaxed_swizzle(i8x16.sub(text, zeros), places)
            if (!i8x16.bitmask(i8x16.add_sat_u(figures, v128.load(ABOVE_NINE)))) {
              const pairs = i16x8.relaxed_dot_i8x16_i7x16_s(figures, v128.load(TENS))
              const fours = i32x4.dot_i16x8_s(pairs, v128.load(HUNDREDS))
              const eights = i32x4.dot_i16x8_s(i16x8.narrow_i32x4_s(fours, fours), v128.load(THOUSANDS))
              const whole = <f64>i32x4.extract_lane(eights, 0) * 1e8 + <f64>i32x4.extract_lane(eights, 1)
              const size = whole / unchecked(POWERS[length - dot - <i32>(dot < length)])
              const quick = select(-size, size, minus)
              const plane: usize = load<u32>(entry, 4)
              if (kind == F32) store<f32>(plane + (<usize>row << 2), <f32>quick)
              else store<f64>(plane + (<usize>row << 3), quick)
              entry += ENTRY
              at += length
              if (<u32>load<u8>(at) == separator) {
                column++
                at++
                continue
              }
              // The row's last cell: its end is settled below.
              settled = true
            }
          }
        }
        if (!settled) {
          const cell = at
          if (!spaces) while (load<u8>(at) == 32) at++
          let digit: u32 = load<u8>(at)
          const negative = digit == 45
          if (negative) digit = load<u8>(++at)
          const digitsFrom = at
          let mantissa: u64 = 0
          digit -= 48
          while (digit <= 9) {
            mantissa = mantissa * 10 + digit
            digit = <u32>load<u8>(++at) - 48
          }
          let digits = <i32>(at - digitsFrom)
          let fraction: i32 = 0
          let plain = true
          if (digit + 48 == decimal) {
            const fractionFrom = at + 1
            digit = <u32>load<u8>(++at) - 48
            while (digit <= 9) {
              mantissa = mantissa * 10 + digit
              digit = <u32>load<u8>(++at) - 48
            }
            fraction = <i32>(at - fractionFrom)
            digits += fraction
            plain = fraction > 0
          }
          let power = -fraction
          if (((digit + 48) | 32) == 101 && digits > 0) {
            // An exponent of up to three digits.
            digit = load<u8>(++at)
            const down = digit == 45
            if (down || digit == 43) digit = load<u8>(++at)
            digit -= 48
            let exponent: i32 = 0
            const exponentFrom = at
            while (digit <= 9 && at - exponentFrom < 3) {
              exponent = exponent * 10 + digit
              digit = <u32>load<u8>(++at) - 48
            }
            plain = plain && at > exponentFrom && kind != EXACT
            power += down ? -exponent : exponent
          }
          if (digit + 48 == 32 && !spaces) {
            while (load<u8>(at) == 32) at++
            digit = <u32>load<u8>(at) - 48
          }
          let value: f64 = NaN
          let done = false
          if (plain && digits > 0 && digits <= 19 && ends(digit + 48)) {
            if (kind == EXACT) {
              if (load<u8>(entry, 1) == 1 && fraction == <i32>load<u16>(entry, 2) && mantissa <= <u64>i64.MAX_VALUE) {
                const difference = (negative ? -(<i64>mantissa) : <i64>mantissa) - load<i64>(entry, 8)
                if (difference <= 9007199254740992 && difference >= -9007199254740992) {
                  value = <f64>difference / unchecked(POWERS[fraction])
                  done = true
                }
              }
            } else if (mantissa <= 9007199254740992 && power >= -22 && power <= 22) {
              value = power < 0 ? <f64>mantissa / unchecked(POWERS[-power]) : <f64>mantissa * unchecked(POWERS[power])
              done = true
            } else if (kind == F32 && power >= -22 && power <= 22) {
              // Twice rounded: at most two units in the last place of a double beside the truth.
              value = power < 0 ? <f64>mantissa / unchecked(POWERS[-power]) : <f64>mantissa * unchecked(POWERS[power])
              done = <f32>(value * (1 - 1e-15)) == <f32>(value * (1 + 1e-15))
            }
            if (done && kind == F32 && value >= 3.4028235677973366e38) done = false
            if (done && negative && kind != EXACT) value = -value
          } else if (at == digitsFrom && !negative && !final && ends(digit + 48)) {
            // An empty cell. In the file's last line it may be a cut, which only the slow path remembers.
            done = true
          }
          if (!done) {
            at = endOfCell(cell, end)
            if (at >= end && !final) {
              pos = recordStart
              return MORE
            }
            value = slow(column, cell, at)
          }
          const plane: usize = load<u32>(entry, 4)
          if (kind == F32) store<f32>(plane + (<usize>row << 2), <f32>value)
          else store<f64>(plane + (<usize>row << 3), value)
          entry += ENTRY
        }
      }
      if (kind == SKIP) entry += ENTRY
      column++
      if (spaces) while (load<u8>(at) == 32) at++
      const stop: u32 = load<u8>(at)
      if (stop == separator) {
        if (!spaces) at++
        continue
      }
      if (stop == newline) {
        if (at >= end) {
          // The sentinel.
          if (!final) {
            pos = recordStart
            return MORE
          }
          break
        }
        at++
        break
      }
      if (stop == 13 && load<u8>(at + 1) == newline) {
        if (at + 1 >= end) {
          if (!final) {
            pos = recordStart
            return MORE
          }
          at = end
        } else at += 2
        break
      }
      if (stop == 13) {
        at++
        break
      }
      // The next cell of a text separated by spaces.
      if (spaces) continue
      at++
    }
    pos = at
    cells = column
    if (column != columns && !(trailing && column == columns + 1)) return WRONG
    if (odd != 0 || final) return ODD
    line += 1 + breaks
    row++
    if (row == limit) return FULL
  }
}
