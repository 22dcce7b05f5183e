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
  while (rows > 0) {
    const some = min(rows, 64)
    rows -= some
    const end = from + (<usize>some << 2)
    const blockFrom = from
    let lowA = infinite
    let lowB = infinite
    let highA = lowest
    let highB = lowest
    // A value that is no number is not taken: it compares as neither smaller nor larger.
    for (; from + 32 <= end; from += 32) {
      const a = v128.load(from)
      const b = v128.load(from, 16)
      v128.store(to, a)
      v128.store(to, b, 16)
      to += 32
      lowA = f32x4.pmin(lowA, a)
      lowB = f32x4.pmin(lowB, b)
      highA = f32x4.pmax(highA, a)
      highB = f32x4.pmax(highB, b)
    }
    lowA = f32x4.pmin(lowA, lowB)
    highA = f32x4.pmax(highA, highB)
    let least = min(
      min(f32x4.extract_lane(lowA, 0), f32x4.extract_lane(lowA, 1)),
      min(f32x4.extract_lane(lowA, 2), f32x4.extract_lane(lowA, 3)),
    )
    let most = max(
      max(f32x4.extract_lane(highA, 0), f32x4.extract_lane(highA, 1)),
      max(f32x4.extract_lane(highA, 2), f32x4.extract_lane(highA, 3)),
    )
    for (; from < end; from += 4) {
      const value = load<f32>(from)
      store<f32>(to, value)
      to += 4
      if (value < least) least = value
      if (value > most) most = value
    }
    if (least == -Infinity || most == Infinity) {
      // Infinities among them: once more, without.
      least = Infinity
      most = -Infinity
      for (let at = blockFrom; at < end; at += 4) {
        const value = load<f32>(at)
        if (!(abs(value) < Infinity)) continue
        if (value < least) least = value
        if (value > most) most = value
      }
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
