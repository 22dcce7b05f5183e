// Spectra of many frames at once, in AssemblyScript with SIMD. spectra-wasm.ts holds this file compiled;
// test/reference/signal/build-kernel.ts compiles it; spectra-kernel.ts drives it. The plain counterpart, in
// double precision, is fft.ts with segments.ts: tests hold the two together.
//
// One vector holds the same sample of four frames, so a transform of four frames runs as one. A complex number of
// four frames takes 32 bytes: four real parts, four imaginary parts.
//
// Memory is laid out by spectra-kernel.ts; all addresses are multiples of 16.

// @ts-nocheck

// a b + c, and c - a b: one operation where the processor has it, two roundings where not.
@inline
function more(a: v128, b: v128, c: v128): v128 {
  return f32x4.relaxed_madd(a, b, c)
}
@inline
function less(a: v128, b: v128, c: v128): v128 {
  return f32x4.relaxed_nmadd(a, b, c)
}

// Stockham's self-sorting transform, radix 4 with a last radix 2 where needed, of n complex numbers (a power of
// two, n >= 2) from `x`, with `y` as room. `turns` holds cos and -sin of 2 pi k / n as pairs of 32-bit numbers,
// k < n. Returns where the result stands: x or y.
function transform(x: usize, y: usize, n: i32, turns: usize): usize {
  let from = x
  let to = y
  let stride = 1
  let left = n
  while (left >= 4) {
    const quarter = left >> 2
    const span = (<usize>(stride * quarter)) << 5
    const out = (<usize>stride) << 5
    // The first of each stage turns nothing.
    {
      let source = from
      let target = to
      const end = source + out
      while (source < end) {
        const s2 = source + span
        const s3 = s2 + span
        const s4 = s3 + span
        const ar = v128.load(source)
        const ai = v128.load(source, 16)
        const br = v128.load(s2)
        const bi = v128.load(s2, 16)
        const cr = v128.load(s3)
        const ci = v128.load(s3, 16)
        const dr = v128.load(s4)
        const di = v128.load(s4, 16)
        const sumR = f32x4.add(ar, cr)
        const sumI = f32x4.add(ai, ci)
        const difR = f32x4.sub(ar, cr)
        const difI = f32x4.sub(ai, ci)
        const oddR = f32x4.add(br, dr)
        const oddI = f32x4.add(bi, di)
        const turnR = f32x4.sub(bi, di)
        const turnI = f32x4.sub(dr, br)
        const t2 = target + out
        const t3 = t2 + out
        const t4 = t3 + out
        v128.store(target, f32x4.add(sumR, oddR))
        v128.store(target, f32x4.add(sumI, oddI), 16)
        v128.store(t2, f32x4.add(difR, turnR))
        v128.store(t2, f32x4.add(difI, turnI), 16)
        v128.store(t3, f32x4.sub(sumR, oddR))
        v128.store(t3, f32x4.sub(sumI, oddI), 16)
        v128.store(t4, f32x4.sub(difR, turnR))
        v128.store(t4, f32x4.sub(difI, turnI), 16)
        source += 32
        target += 32
      }
    }
    for (let p = 1; p < quarter; p++) {
      const at = turns + ((<usize>(p * stride)) << 3)
      const at2 = turns + ((<usize>(2 * p * stride)) << 3)
      const at3 = turns + ((<usize>(3 * p * stride)) << 3)
      const w1r = v128.load32_splat(at)
      const w1i = v128.load32_splat(at, 4)
      const w2r = v128.load32_splat(at2)
      const w2i = v128.load32_splat(at2, 4)
      const w3r = v128.load32_splat(at3)
      const w3i = v128.load32_splat(at3, 4)
      let source = from + ((<usize>(stride * p)) << 5)
      let target = to + ((<usize>(stride * 4 * p)) << 5)
      const end = source + out
      while (source < end) {
        const s2 = source + span
        const s3 = s2 + span
        const s4 = s3 + span
        const ar = v128.load(source)
        const ai = v128.load(source, 16)
        const br = v128.load(s2)
        const bi = v128.load(s2, 16)
        const cr = v128.load(s3)
        const ci = v128.load(s3, 16)
        const dr = v128.load(s4)
        const di = v128.load(s4, 16)
        const sumR = f32x4.add(ar, cr)
        const sumI = f32x4.add(ai, ci)
        const difR = f32x4.sub(ar, cr)
        const difI = f32x4.sub(ai, ci)
        const oddR = f32x4.add(br, dr)
        const oddI = f32x4.add(bi, di)
        const turnR = f32x4.sub(bi, di)
        const turnI = f32x4.sub(dr, br)
        const t2 = target + out
        const t3 = t2 + out
        const t4 = t3 + out
        v128.store(target, f32x4.add(sumR, oddR))
        v128.store(target, f32x4.add(sumI, oddI), 16)
        const er = f32x4.add(difR, turnR)
        const ei = f32x4.add(difI, turnI)
        v128.store(t2, less(ei, w1i, f32x4.mul(er, w1r)))
        v128.store(t2, more(ei, w1r, f32x4.mul(er, w1i)), 16)
        const fr = f32x4.sub(sumR, oddR)
        const fi = f32x4.sub(sumI, oddI)
        v128.store(t3, less(fi, w2i, f32x4.mul(fr, w2r)))
        v128.store(t3, more(fi, w2r, f32x4.mul(fr, w2i)), 16)
        const gr = f32x4.sub(difR, turnR)
        const gi = f32x4.sub(difI, turnI)
        v128.store(t4, less(gi, w3i, f32x4.mul(gr, w3r)))
        v128.store(t4, more(gi, w3r, f32x4.mul(gr, w3i)), 16)
        source += 32
        target += 32
      }
    }
    const swap = from
    from = to
    to = swap
    left = quarter
    stride <<= 2
  }
  if (left == 2) {
    const span = (<usize>stride) << 5
    for (let q: usize = 0; q < span; q += 16) {
      const a = v128.load(from + q)
      const b = v128.load(from + span + q)
      v128.store(to + q, f32x4.add(a, b))
      v128.store(to + span + q, f32x4.sub(a, b))
    }
    const swap = from
    from = to
    to = swap
  }
  return from
}

// Mean of `count` (a multiple of 4) numbers.
@inline
function mean(at: usize, count: i32): f32 {
  let a = f32x4.splat(0)
  const end = at + ((<usize>count) << 2)
  for (let p = at; p < end; p += 16) a = f32x4.add(a, v128.load(p))
  return (
    (f32x4.extract_lane(a, 0) + f32x4.extract_lane(a, 1) + f32x4.extract_lane(a, 2) + f32x4.extract_lane(a, 3)) /
    <f32>count
  )
}

// The numbers of `decibels`, each four times. Engines build a vector constant anew at every use; from memory it is one
// load.
const NUMBERS: StaticArray<f32> = [
  0.1396336881, 0.1396336881, 0.1396336881, 0.1396336881,
  -0.5908300955, -0.5908300955, -0.5908300955, -0.5908300955,
  1.257088252, 1.257088252, 1.257088252, 1.257088252,
  -2.136297857, -2.136297857, -2.136297857, -2.136297857,
  4.340749023, 4.340749023, 4.340749023, 4.340749023,
  3.010299957, 3.010299957, 3.010299957, 3.010299957,
  1, 1, 1, 1,
  -382.3080945, -382.3080945, -382.3080945, -382.3080945,
]

// 10 log10 of four positive normal numbers: exponent, and a polynomial for the mantissa 1 + m, m in 0..1:
// 10 log10(1 + m) = m (c1 + c2 m + ... + c5 m^4), least squares reweighted towards the largest error, which is 4.3e-5 dB.
// -382.3 is 127 times 3.01: the exponent's bias.
@inline
function decibels(v: v128, numbers: usize, mantissa: v128): v128 {
  const one = v128.load(numbers, 96)
  const m = f32x4.sub(v128.or(v128.and(v, mantissa), one), one)
  const exponent = f32x4.convert_i32x4_s(i32x4.shr_u(v, 23))
  let p = more(v128.load(numbers), m, v128.load(numbers, 16))
  p = more(p, m, v128.load(numbers, 32))
  p = more(p, m, v128.load(numbers, 48))
  p = more(p, m, v128.load(numbers, 64))
  return more(p, m, more(exponent, v128.load(numbers, 80), v128.load(numbers, 112)))
}

// Level spectra of four frames that start at s0..s3, whose means are m0..m3. `size` (a power of two, at least 16)
// samples each; even and odd samples make one complex series of half the length. `window` holds size numbers; `half` and
// `whole` are tables of turns for size/2 and size. Writes four rows of size/2 + 1 levels at r0..r3.
@inline
function four(
  s0: usize, s1: usize, s2: usize, s3: usize,
  m0: v128, m1: v128, m2: v128, m3: v128,
  r0: usize, r1: usize, r2: usize, r3: usize,
  size: i32, window: usize, half: usize, whole: usize, work: usize, room: usize,
  scale: f32, floor: f32,
): void {
  let to = work
  const bytes = (<usize>size) << 2
  for (let n: usize = 0; n < bytes; n += 16) {
    const w = v128.load(window + n)
    const a = f32x4.mul(f32x4.sub(v128.load(s0 + n), m0), w)
    const b = f32x4.mul(f32x4.sub(v128.load(s1 + n), m1), w)
    const c = f32x4.mul(f32x4.sub(v128.load(s2 + n), m2), w)
    const d = f32x4.mul(f32x4.sub(v128.load(s3 + n), m3), w)
    // Rows to columns: each vector then holds one sample of the four frames.
    const ab = low(a, b)
    const AB = high(a, b)
    const cd = low(c, d)
    const CD = high(c, d)
    v128.store(to, lower(ab, cd))
    v128.store(to, upper(ab, cd), 16)
    v128.store(to, lower(AB, CD), 32)
    v128.store(to, upper(AB, CD), 48)
    to += 64
  }
  const points = size >> 1
  const z = transform(work, room, points, half)
  const least = f32x4.splat(floor)
  const numbers = changetype<usize>(NUMBERS)
  const mantissa = i32x4.splat(0x007fffff)
  const s = f32x4.splat(scale)
  const middle = points >> 1
  // What the transform left free serves for a moment's notes.
  const notes = z == work ? room : work
  // Bin k and its mirror points - k come out of the same two numbers: four such pairs at a time.
  for (let k = 0; k < middle; k += 4) {
    let near = z + ((<usize>k) << 5)
    // Bin 0's mirror is itself.
    let far = k == 0 ? z : z + ((<usize>(points - k)) << 5)
    let turn = whole + ((<usize>k) << 3)
    for (let j: usize = 0; j < 128; j += 32) {
      const ar = v128.load(near)
      const ai = v128.load(near, 16)
      const br = v128.load(far)
      const bi = v128.load(far, 16)
      const evenR = f32x4.add(ar, br)
      const evenI = f32x4.sub(ai, bi)
      const oddR = f32x4.add(ai, bi)
      const oddI = f32x4.sub(br, ar)
      const c = v128.load32_splat(turn)
      const d = v128.load32_splat(turn, 4)
      const turnedR = less(d, oddI, f32x4.mul(c, oddR))
      const turnedI = more(d, oddR, f32x4.mul(c, oddI))
      const pR = f32x4.add(evenR, turnedR)
      const pI = f32x4.add(evenI, turnedI)
      const qR = f32x4.sub(evenR, turnedR)
      const qI = f32x4.sub(evenI, turnedI)
      let p = f32x4.mul(more(pI, pI, f32x4.mul(pR, pR)), s)
      let q = f32x4.mul(more(qI, qI, f32x4.mul(qR, qR)), s)
      if (k == 0 && j == 0) {
        // DC and half the rate stand for one frequency each, and from here on mirrors step down from the top.
        p = f32x4.mul(p, f32x4.splat(0.5))
        q = f32x4.mul(q, f32x4.splat(0.5))
        far = z + ((<usize>points) << 5)
      }
      v128.store(notes + j, decibels(f32x4.pmax(least, p), numbers, mantissa))
      v128.store(notes + j, decibels(f32x4.pmax(least, q), numbers, mantissa), 16)
      near += 32
      far -= 32
      turn += 8
    }
    const here = (<usize>k) << 2
    rows(notes, 0, 32, 64, 96, r0 + here, r1 + here, r2 + here, r3 + here)
    const there = (<usize>(points - k - 3)) << 2
    rows(notes, 112, 80, 48, 16, r0 + there, r1 + there, r2 + there, r3 + there)
  }
  // The middle is its own mirror; its turn is -i.
  const at = z + ((<usize>middle) << 5)
  const re = v128.load(at)
  const im = v128.load(at, 16)
  const power = f32x4.mul(f32x4.add(f32x4.mul(re, re), f32x4.mul(im, im)), f32x4.mul(s, f32x4.splat(4)))
  const last = decibels(f32x4.pmax(least, power), numbers, mantissa)
  const place = (<usize>middle) << 2
  f32.store(r0 + place, f32x4.extract_lane(last, 0))
  f32.store(r1 + place, f32x4.extract_lane(last, 1))
  f32.store(r2 + place, f32x4.extract_lane(last, 2))
  f32.store(r3 + place, f32x4.extract_lane(last, 3))
}

@inline
function low(a: v128, b: v128): v128 {
  return i8x16.shuffle(a, b, 0, 1, 2, 3, 16, 17, 18, 19, 4, 5, 6, 7, 20, 21, 22, 23)
}
@inline
function high(a: v128, b: v128): v128 {
  return i8x16.shuffle(a, b, 8, 9, 10, 11, 24, 25, 26, 27, 12, 13, 14, 15, 28, 29, 30, 31)
}
@inline
function lower(a: v128, b: v128): v128 {
  return i8x16.shuffle(a, b, 0, 1, 2, 3, 4, 5, 6, 7, 16, 17, 18, 19, 20, 21, 22, 23)
}
@inline
function upper(a: v128, b: v128): v128 {
  return i8x16.shuffle(a, b, 8, 9, 10, 11, 12, 13, 14, 15, 24, 25, 26, 27, 28, 29, 30, 31)
}

// Stores four bins of four frames, noted at `notes` + i0..i3, as four bins in each of four rows.
@inline
function rows(
  notes: usize, i0: usize, i1: usize, i2: usize, i3: usize,
  r0: usize, r1: usize, r2: usize, r3: usize,
): void {
  const a = v128.load(notes + i0)
  const b = v128.load(notes + i1)
  const c = v128.load(notes + i2)
  const d = v128.load(notes + i3)
  const ab = low(a, b)
  const AB = high(a, b)
  const cd = low(c, d)
  const CD = high(c, d)
  v128.store(r0, lower(ab, cd))
  v128.store(r1, upper(ab, cd))
  v128.store(r2, lower(AB, CD))
  v128.store(r3, upper(AB, CD))
}

// Level spectra of `frames` frames (at least four), `hop` samples apart from `samples` on, into rows at `out`. Where
// the window is a whole number of hops of whole vectors, `sums` has room for the sums of the hops.
export function spectrogram(
  samples: usize, frames: i32, size: i32, hop: i32,
  window: usize, half: usize, whole: usize, work: usize, room: usize, sums: usize, out: usize,
  scale: f32, floor: f32,
): void {
  const row = (<usize>((size >> 1) + 1)) << 2
  const step = (<usize>hop) << 2
  const perFrame = size / hop
  const shared = perFrame * hop == size && (hop & 3) == 0
  if (shared) {
    const count = frames - 1 + perFrame
    for (let block = 0; block < count; block++) {
      f32.store(sums + ((<usize>block) << 2), mean(samples + <usize>block * step, hop))
    }
  }
  let frame = 0
  while (frame < frames) {
    if (frame + 4 > frames) frame = frames - 4
    const s = samples + <usize>frame * step
    const r = out + <usize>frame * row
    let m0: f32, m1: f32, m2: f32, m3: f32
    if (shared) {
      const first = sums + ((<usize>frame) << 2)
      m0 = average(first, perFrame)
      m1 = average(first + 4, perFrame)
      m2 = average(first + 8, perFrame)
      m3 = average(first + 12, perFrame)
    } else {
      m0 = mean(s, size)
      m1 = mean(s + step, size)
      m2 = mean(s + 2 * step, size)
      m3 = mean(s + 3 * step, size)
    }
    four(
      s, s + step, s + 2 * step, s + 3 * step,
      f32x4.splat(m0), f32x4.splat(m1), f32x4.splat(m2), f32x4.splat(m3),
      r, r + row, r + 2 * row, r + 3 * row,
      size, window, half, whole, work, room, scale, floor,
    )
    frame += 4
  }
}

// Mean of `count` numbers, any count.
@inline
function average(at: usize, count: i32): f32 {
  let sum: f32 = 0
  for (let k = 0; k < count; k++) sum += load<f32>(at + ((<usize>k) << 2))
  return sum / <f32>count
}

// Turns `count` 64-bit numbers (a multiple of 4) into 32-bit ones.
export function narrow(from: usize, to: usize, count: i32): void {
  const end = to + ((<usize>count) << 2)
  while (to < end) {
    const a = f32x4.demote_f64x2_zero(v128.load(from))
    const b = f32x4.demote_f64x2_zero(v128.load(from, 16))
    v128.store(to, i8x16.shuffle(a, b, 0, 1, 2, 3, 4, 5, 6, 7, 16, 17, 18, 19, 20, 21, 22, 23))
    from += 32
    to += 16
  }
}

// Turns `count` numbers (a multiple of 4) into their steps from the one before, from the last on; the first one's stands
// before them.
export function steps(at: usize, count: i32): void {
  let p = at + ((<usize>count) << 2)
  while (p > at) {
    p -= 16
    v128.store(p, f32x4.sub(v128.load(p), v128.load(p - 4)))
  }
}

// Takes `count` numbers (a multiple of 4) at `less` off those at `at`.
export function subtract(at: usize, less: usize, count: i32): void {
  const bytes = (<usize>count) << 2
  for (let n: usize = 0; n < bytes; n += 16) {
    v128.store(at + n, f32x4.sub(v128.load(at + n), v128.load(less + n)))
  }
}

// Calls whose spectra are added in 32 bits before they go to the sums in 64: more would lose digits.
const SETTLE_AFTER: i32 = 16

// Adds the spectra of segments of the series at `u` and `y` to `sums`: for each of size/2 + 1 bins |U|^2, |Y|^2, Re and Im of
// conj(U) Y, all times 4. The segments start at the sample numbers at `starts`; eight go at once as four pairs, each one
// complex series, u + i y. `alone`: there is one series only, and a pair is two of its segments. Where segments run out, the
// zeros at `silence` stand in. `notes` holds four vectors a bin and is left empty.
export function cross(
  u: usize, y: usize, starts: usize, count: i32, alone: i32, size: i32, window: usize, turns: usize,
  work: usize, room: usize, notes: usize, sums: usize, silence: usize, takeMean: i32,
): void {
  const bins = (size >> 1) + 1
  const step = alone ? 8 : 4
  const later = alone ? 4 : 0
  let calls = 0
  for (let first = 0; first < count; first += step) {
    gather(u, starts, first, count, silence, size, window, work, takeMean)
    gather(y, starts, first + later, count, silence, size, window, work + 16, takeMean)
    addProducts(transform(work, room, size, turns), size, notes)
    if (++calls == SETTLE_AFTER) {
      settle(notes, sums, bins)
      calls = 0
    }
  }
  settle(notes, sums, bins)
}

// Untangles four pairs' spectra at `z` and adds their products to `notes`.
function addProducts(z: usize, size: i32, notes: usize): void {
  const half = size >> 1
  let near = z
  let far = z
  let at = notes
  for (let k = 0; k <= half; k++) {
    const ar = v128.load(near)
    const ai = v128.load(near, 16)
    const br = v128.load(far)
    const bi = v128.load(far, 16)
    const uR = f32x4.add(ar, br)
    const uI = f32x4.sub(ai, bi)
    const yR = f32x4.add(ai, bi)
    const yI = f32x4.sub(br, ar)
    v128.store(at, more(uI, uI, more(uR, uR, v128.load(at))))
    v128.store(at, more(yI, yI, more(yR, yR, v128.load(at, 16))), 16)
    v128.store(at, more(uI, yI, more(uR, yR, v128.load(at, 32))), 32)
    v128.store(at, less(uI, yR, more(uR, yI, v128.load(at, 48))), 48)
    near += 32
    far = k == 0 ? z + ((<usize>(size - 1)) << 5) : far - 32
    at += 64
  }
}

// Empties the 32-bit sums of `bins` bins into sums of doubles (four a bin).
function settle(notes: usize, sums: usize, bins: i32): void {
  for (let k = 0; k < bins; k++) {
    for (let part: usize = 0; part < 4; part++) {
      const from = notes + (part << 4)
      const v = v128.load(from)
      const all =
        <f64>f32x4.extract_lane(v, 0) +
        <f64>f32x4.extract_lane(v, 1) +
        <f64>f32x4.extract_lane(v, 2) +
        <f64>f32x4.extract_lane(v, 3)
      const to = sums + (part << 3)
      store<f64>(to, load<f64>(to) + all)
      v128.store(from, f32x4.splat(0))
    }
    notes += 64
    sums += 32
  }
}

// Where segment `index` of the series at `at` stands.
@inline
function segmentAt(at: usize, starts: usize, index: i32, count: i32, silence: usize): usize {
  return index < count ? at + ((<usize>load<i32>(starts + ((<usize>index) << 2))) << 2) : silence
}

// Four segments of `size` numbers, from number `first` on, windowed (their means taken off first), into every other vector
// at `work`.
function gather(
  at: usize, starts: usize, first: i32, count: i32, silence: usize,
  size: i32, window: usize, work: usize, takeMean: i32,
): void {
  const bytes = (<usize>size) << 2
  const s0 = segmentAt(at, starts, first, count, silence)
  const s1 = segmentAt(at, starts, first + 1, count, silence)
  const s2 = segmentAt(at, starts, first + 2, count, silence)
  const s3 = segmentAt(at, starts, first + 3, count, silence)
  const m0 = f32x4.splat(takeMean ? mean(s0, size) : 0)
  const m1 = f32x4.splat(takeMean ? mean(s1, size) : 0)
  const m2 = f32x4.splat(takeMean ? mean(s2, size) : 0)
  const m3 = f32x4.splat(takeMean ? mean(s3, size) : 0)
  let to = work
  for (let n: usize = 0; n < bytes; n += 16) {
    const w = v128.load(window + n)
    const a = f32x4.mul(f32x4.sub(v128.load(s0 + n), m0), w)
    const b = f32x4.mul(f32x4.sub(v128.load(s1 + n), m1), w)
    const c = f32x4.mul(f32x4.sub(v128.load(s2 + n), m2), w)
    const d = f32x4.mul(f32x4.sub(v128.load(s3 + n), m3), w)
    const ab = low(a, b)
    const AB = high(a, b)
    const cd = low(c, d)
    const CD = high(c, d)
    v128.store(to, lower(ab, cd))
    v128.store(to, upper(ab, cd), 32)
    v128.store(to, lower(AB, CD), 64)
    v128.store(to, upper(AB, CD), 96)
    to += 128
  }
}
