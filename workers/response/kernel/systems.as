// Four second-order systems that run at once over one input, and what their answers have to do with a measured one, in
// AssemblyScript with SIMD. systems-wasm.ts holds this file compiled; `npm run build:kernels` compiles it; four-systems.ts
// drives it and holds the plain counterpart: tests hold the two together.
//
// Systems 0 and 1 share one vector, 2 and 3 another. Memory is laid out by four-systems.ts; all addresses are multiples
// of 16, but for those of samples.

// @ts-nocheck

// a b + c: one operation where the processor has it, two roundings where not.
@inline
function more(a: v128, b: v128, c: v128): v128 {
  return f64x2.relaxed_madd(a, b, c)
}
@inline
function firsts(a: v128, b: v128): v128 {
  return i8x16.shuffle(a, b, 0, 1, 2, 3, 4, 5, 6, 7, 16, 17, 18, 19, 20, 21, 22, 23)
}
@inline
function seconds(a: v128, b: v128): v128 {
  return i8x16.shuffle(a, b, 8, 9, 10, 11, 12, 13, 14, 15, 24, 25, 26, 27, 28, 29, 30, 31)
}

// Runs the systems through `count` pieces: each four 32-bit numbers, the samples from and to (not included), the group whose
// sums it adds to (below 0: none), and whether the systems start anew there, at rest. `taps` holds eight vectors for each
// pair: a1, a2, what the input of `whole` .. `whole` + 4 samples ago counts, and the gain. `sums` holds nine vectors a group, the
// products and sums named in four-systems.ts; `mean` is taken off `y`.
export function run(
  u: usize, y: usize, pieces: usize, count: i32, taps: usize, whole: i32, mean: f64, sums: usize,
): void {
  const lag = (<usize>whole) << 3
  const zero = f64x2.splat(0)
  const offset = f64x2.splat(mean)
  let first = u
  let a1 = zero
  let a2 = zero
  let b1 = zero
  let b2 = zero
  for (let piece = 0; piece < count; piece++) {
    const at = pieces + ((<usize>piece) << 4)
    const from = u + ((<usize>load<i32>(at)) << 3)
    const end = u + ((<usize>load<i32>(at, 4)) << 3)
    const group = load<i32>(at, 8)
    if (load<i32>(at, 12)) {
      first = from
      const still = v128.load64_splat(from)
      a1 = a2 = f64x2.mul(v128.load(taps, 112), still)
      b1 = b2 = f64x2.mul(v128.load(taps, 240), still)
    }
    // Before its first sample the input stood still.
    const least = first + lag
    let u1 = v128.load64_splat(max(from - 8, least) - lag)
    let u2 = v128.load64_splat(max(from - 16, least) - lag)
    let u3 = v128.load64_splat(max(from - 24, least) - lag)
    let u4 = v128.load64_splat(max(from - 32, least) - lag)
    let s0 = zero
    let s1 = zero
    let s2 = zero
    let s3 = zero
    let s4 = zero
    let s5 = zero
    let s6 = zero
    let s7 = zero
    let s8 = zero
    let measured = y + (from - u)
    for (let n = from; n < end; n += 8) {
      const u0 = v128.load64_splat(max(n, least) - lag)
      let a = f64x2.mul(v128.load(taps, 32), u0)
      let b = f64x2.mul(v128.load(taps, 160), u0)
      a = more(v128.load(taps, 48), u1, a)
      b = more(v128.load(taps, 176), u1, b)
      a = more(v128.load(taps, 64), u2, a)
      b = more(v128.load(taps, 192), u2, b)
      a = more(v128.load(taps, 80), u3, a)
      b = more(v128.load(taps, 208), u3, b)
      a = more(v128.load(taps, 96), u4, a)
      b = more(v128.load(taps, 224), u4, b)
      a = more(v128.load(taps, 16), a2, a)
      b = more(v128.load(taps, 144), b2, b)
      a = more(v128.load(taps), a1, a)
      b = more(v128.load(taps, 128), b1, b)
      u4 = u3
      u3 = u2
      u2 = u1
      u1 = u0
      a2 = a1
      a1 = a
      b2 = b1
      b1 = b
      if (group >= 0) {
        // What the first three are apart from the fourth, x.
        const x = seconds(b, b)
        const d01 = f64x2.sub(a, x)
        const d2x = f64x2.sub(b, seconds(b, zero))
        const both = f64x2.sub(v128.load64_splat(measured), offset)
        s0 = more(d01, d01, s0)
        s1 = more(firsts(d01, d2x), seconds(d01, d2x), s1)
        s2 = more(d2x, d2x, s2)
        s3 = more(d01, firsts(d2x, d2x), s3)
        s4 = more(d01, x, s4)
        s5 = more(d01, both, s5)
        s6 = more(d2x, both, s6)
        s7 = f64x2.add(s7, d01)
        s8 = f64x2.add(s8, d2x)
      }
      measured += 8
    }
    if (group >= 0) {
      const to = sums + <usize>group * 144
      v128.store(to, f64x2.add(v128.load(to), s0))
      v128.store(to, f64x2.add(v128.load(to, 16), s1), 16)
      v128.store(to, f64x2.add(v128.load(to, 32), s2), 32)
      v128.store(to, f64x2.add(v128.load(to, 48), s3), 48)
      v128.store(to, f64x2.add(v128.load(to, 64), s4), 64)
      v128.store(to, f64x2.add(v128.load(to, 80), s5), 80)
      v128.store(to, f64x2.add(v128.load(to, 96), s6), 96)
      v128.store(to, f64x2.add(v128.load(to, 112), s7), 112)
      v128.store(to, f64x2.add(v128.load(to, 128), s8), 128)
    }
  }
}
