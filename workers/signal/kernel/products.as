// Sums of lagged products in double precision, in AssemblyScript with SIMD. products-wasm.ts holds this file compiled;
// `npm run build:kernels` compiles it; products-kernel.ts drives it. The plain counterpart is in cross-products.ts: tests
// hold the two together.
//
// Memory is laid out by products-kernel.ts; all addresses are multiples of 16.

// @ts-nocheck

// a b + c, and c - a b: one operation where the processor has it, two roundings where not.
@inline
function more(a: v128, b: v128, c: v128): v128 {
  return f64x2.relaxed_madd(a, b, c)
}
@inline
function less(a: v128, b: v128, c: v128): v128 {
  return f64x2.relaxed_nmadd(a, b, c)
}

// Adds u[n] y[n + k] over n < count to sums[k], k < lags (a multiple of 16). `y` holds count + lags numbers.
export function direct(u: usize, y: usize, count: i32, lags: i32, sums: usize): void {
  const end = u + ((<usize>count) << 3)
  for (let k = 0; k < lags; k += 16) {
    let a = f64x2.splat(0)
    let b = a
    let c = a
    let d = a
    let e = a
    let f = a
    let g = a
    let h = a
    let later = y + ((<usize>k) << 3)
    for (let at = u; at < end; at += 8) {
      const v = v128.load64_splat(at)
      a = more(v, v128.load(later), a)
      b = more(v, v128.load(later, 16), b)
      c = more(v, v128.load(later, 32), c)
      d = more(v, v128.load(later, 48), d)
      e = more(v, v128.load(later, 64), e)
      f = more(v, v128.load(later, 80), f)
      g = more(v, v128.load(later, 96), g)
      h = more(v, v128.load(later, 112), h)
      later += 8
    }
    const to = sums + ((<usize>k) << 3)
    v128.store(to, f64x2.add(v128.load(to), a))
    v128.store(to, f64x2.add(v128.load(to, 16), b), 16)
    v128.store(to, f64x2.add(v128.load(to, 32), c), 32)
    v128.store(to, f64x2.add(v128.load(to, 48), d), 48)
    v128.store(to, f64x2.add(v128.load(to, 64), e), 64)
    v128.store(to, f64x2.add(v128.load(to, 80), f), 80)
    v128.store(to, f64x2.add(v128.load(to, 96), g), 96)
    v128.store(to, f64x2.add(v128.load(to, 112), h), 112)
  }
}

// Adds conj(U) Y of two blocks of u and y to `sums`: for each of size/2 + 1 bins two vectors, the real parts of both blocks
// and the imaginary parts, all times 4. Each block of u and y is one complex series, u + i y, of `size` numbers (a power of
// two, at least 4); both blocks are transformed as one, a block in each half of a vector.
export function blocks(
  u0: usize, u1: usize, y0: usize, y1: usize, size: i32, turns: usize, work: usize, room: usize, sums: usize,
): void {
  const bytes = (<usize>size) << 3
  let to = work
  for (let n: usize = 0; n < bytes; n += 16) {
    interleave(v128.load(u0 + n), v128.load(u1 + n), to)
    interleave(v128.load(y0 + n), v128.load(y1 + n), to + 16)
    to += 64
  }
  const z = transform(work, room, size, turns)
  const half = size >> 1
  let near = z
  let far = z
  let at = sums
  for (let k = 0; k <= half; k++) {
    const ar = v128.load(near)
    const ai = v128.load(near, 16)
    const br = v128.load(far)
    const bi = v128.load(far, 16)
    const uR = f64x2.add(ar, br)
    const uI = f64x2.sub(ai, bi)
    const yR = f64x2.add(ai, bi)
    const yI = f64x2.sub(br, ar)
    v128.store(at, more(uI, yI, more(uR, yR, v128.load(at))))
    v128.store(at, less(uI, yR, more(uR, yI, v128.load(at, 16))), 16)
    near += 32
    far = k == 0 ? z + ((<usize>(size - 1)) << 5) : far - 32
    at += 32
  }
}

// Two numbers of each of two series, as they stand in two complex numbers.
@inline
function interleave(a: v128, b: v128, to: usize): void {
  v128.store(to, i8x16.shuffle(a, b, 0, 1, 2, 3, 4, 5, 6, 7, 16, 17, 18, 19, 20, 21, 22, 23))
  v128.store(to, i8x16.shuffle(a, b, 8, 9, 10, 11, 12, 13, 14, 15, 24, 25, 26, 27, 28, 29, 30, 31), 32)
}

// Stockham's self-sorting transform, radix 4 with a last radix 2 where needed, of n complex numbers (a power of
// two, n >= 4) from `x`, with `y` as room. `turns` holds cos and -sin of 2 pi k / n as pairs,
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
        const sumR = f64x2.add(ar, cr)
        const sumI = f64x2.add(ai, ci)
        const difR = f64x2.sub(ar, cr)
        const difI = f64x2.sub(ai, ci)
        const oddR = f64x2.add(br, dr)
        const oddI = f64x2.add(bi, di)
        const turnR = f64x2.sub(bi, di)
        const turnI = f64x2.sub(dr, br)
        const t2 = target + out
        const t3 = t2 + out
        const t4 = t3 + out
        v128.store(target, f64x2.add(sumR, oddR))
        v128.store(target, f64x2.add(sumI, oddI), 16)
        v128.store(t2, f64x2.add(difR, turnR))
        v128.store(t2, f64x2.add(difI, turnI), 16)
        v128.store(t3, f64x2.sub(sumR, oddR))
        v128.store(t3, f64x2.sub(sumI, oddI), 16)
        v128.store(t4, f64x2.sub(difR, turnR))
        v128.store(t4, f64x2.sub(difI, turnI), 16)
        source += 32
        target += 32
      }
    }
    for (let p = 1; p < quarter; p++) {
      const at = turns + ((<usize>(p * stride)) << 4)
      const at2 = turns + ((<usize>(2 * p * stride)) << 4)
      const at3 = turns + ((<usize>(3 * p * stride)) << 4)
      const w1r = v128.load64_splat(at)
      const w1i = v128.load64_splat(at, 8)
      const w2r = v128.load64_splat(at2)
      const w2i = v128.load64_splat(at2, 8)
      const w3r = v128.load64_splat(at3)
      const w3i = v128.load64_splat(at3, 8)
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
        const sumR = f64x2.add(ar, cr)
        const sumI = f64x2.add(ai, ci)
        const difR = f64x2.sub(ar, cr)
        const difI = f64x2.sub(ai, ci)
        const oddR = f64x2.add(br, dr)
        const oddI = f64x2.add(bi, di)
        const turnR = f64x2.sub(bi, di)
        const turnI = f64x2.sub(dr, br)
        const t2 = target + out
        const t3 = t2 + out
        const t4 = t3 + out
        v128.store(target, f64x2.add(sumR, oddR))
        v128.store(target, f64x2.add(sumI, oddI), 16)
        const er = f64x2.add(difR, turnR)
        const ei = f64x2.add(difI, turnI)
        v128.store(t2, less(ei, w1i, f64x2.mul(er, w1r)))
        v128.store(t2, more(ei, w1r, f64x2.mul(er, w1i)), 16)
        const fr = f64x2.sub(sumR, oddR)
        const fi = f64x2.sub(sumI, oddI)
        v128.store(t3, less(fi, w2i, f64x2.mul(fr, w2r)))
        v128.store(t3, more(fi, w2r, f64x2.mul(fr, w2i)), 16)
        const gr = f64x2.sub(difR, turnR)
        const gi = f64x2.sub(difI, turnI)
        v128.store(t4, less(gi, w3i, f64x2.mul(gr, w3r)))
        v128.store(t4, more(gi, w3r, f64x2.mul(gr, w3i)), 16)
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
      v128.store(to + q, f64x2.add(a, b))
      v128.store(to + span + q, f64x2.sub(a, b))
    }
    const swap = from
    from = to
    to = swap
  }
  return from
}
