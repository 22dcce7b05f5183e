// Rows on their way from the small planes that `parse` fills, which stay in the processor's cache, to the planes of a
// group, with the levels and the range of each column. Part of rows.as.

// @ts-nocheck

// Copies `rows` values of each of `count` 32-bit columns and finds the smallest and largest finite values of each block
// of 64, NaN where a block has none. A column's plane begins `fromStride` (`toStride`) bytes after the one before; of
// its levels, `levelStride`. `ranges` holds two doubles a column, which are widened.
export function spill32(
  count: i32,
  rows: i32,
  from: usize,
  fromStride: usize,
  to: usize,
  toStride: usize,
  minAt: usize,
  maxAt: usize,
  levelStride: usize,
  ranges: usize,
): void {
  for (let column = 0; column < count; column++) {
    level(rows, from, to, minAt, maxAt, ranges)
    from += fromStride
    to += toStride
    minAt += levelStride
    maxAt += levelStride
    ranges += 16
  }
}

function level(rows: i32, from: usize, to: usize, minAt: usize, maxAt: usize, range: usize): void {
  const infinite = f32x4.splat(Infinity)
  const lowest = f32x4.splat(-Infinity)
  let allLeast = load<f64>(range)
  let allMost = load<f64>(range, 8)
  let at: usize = 0
  while (rows > 0) {
    let low = infinite
    let high = lowest
    let some = min(rows, 64)
    rows -= some
    for (; some >= 4; some -= 4) {
      const values = v128.load(from + at)
      v128.store(to + at, values)
      at += 16
      const finite = f32x4.lt(f32x4.abs(values), infinite)
      low = f32x4.pmin(low, v128.bitselect(values, infinite, finite))
      high = f32x4.pmax(high, v128.bitselect(values, lowest, finite))
    }
    let least = min(
      min(f32x4.extract_lane(low, 0), f32x4.extract_lane(low, 1)),
      min(f32x4.extract_lane(low, 2), f32x4.extract_lane(low, 3)),
    )
    let most = max(
      max(f32x4.extract_lane(high, 0), f32x4.extract_lane(high, 1)),
      max(f32x4.extract_lane(high, 2), f32x4.extract_lane(high, 3)),
    )
    for (; some > 0; some--) {
      const value = load<f32>(from + at)
      store<f32>(to + at, value)
      at += 4
      if (!(abs(value) < Infinity)) continue
      if (value < least) least = value
      if (value > most) most = value
    }
    store<f32>(minAt, least <= most ? least : NaN)
    store<f32>(maxAt, least <= most ? most : NaN)
    minAt += 4
    maxAt += 4
    if (<f64>least < allLeast) allLeast = least
    if (<f64>most > allMost) allMost = most
  }
  store<f64>(range, allLeast)
  store<f64>(range, allMost, 8)
}

// The same for 64-bit columns, which have no levels.
export function spill64(
  count: i32,
  rows: i32,
  from: usize,
  fromStride: usize,
  to: usize,
  toStride: usize,
  ranges: usize,
): void {
  for (let column = 0; column < count; column++) {
    let least = load<f64>(ranges)
    let most = load<f64>(ranges, 8)
    for (let row: usize = 0; row < <usize>rows; row++) {
      const value = load<f64>(from + (row << 3))
      store<f64>(to + (row << 3), value)
      if (!(abs(value) < Infinity)) continue
      if (value < least) least = value
      if (value > most) most = value
    }
    store<f64>(ranges, least)
    store<f64>(ranges, most, 8)
    from += fromStride
    to += toStride
    ranges += 16
  }
}
