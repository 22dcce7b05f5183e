/**
 * Seeded random numbers: the only source of chance in the model, so that one seed always makes the same flight.
 *
 * Generator: xoshiro128** 1.1 by David Blackman and Sebastiano Vigna (2018, public domain), 32 bits a draw,
 * seeded through a 32-bit mixing counter (the finaliser of MurmurHash3 by Austin Appleby, public domain).
 */
export class Random {
  private readonly s: Uint32Array
  private readonly spare = new Float64Array(1)
  private hasSpare = false

  /** `seed`: any finite number, of which the lower 32 bits are used; or the four words of state themselves. */
  constructor(seed: number | readonly [number, number, number, number]) {
    this.s = new Uint32Array(4)
    if (typeof seed === 'number') {
      let counter = seed >>> 0
      for (let word = 0; word < 4; word++) {
        counter = (counter + 0x9e3779b9) >>> 0
        this.s[word] = mix(counter)
      }
    } else this.s.set(seed)
    if (this.s.every((word) => word === 0)) this.s[0] = 1
  }

  /** The next 32 bits, 0..2^32-1. */
  bits(): number {
    const s = this.s
    const s1 = s[1]!
    const rotated = Math.imul(s1, 5)
    const result = Math.imul((rotated << 7) | (rotated >>> 25), 9) >>> 0
    const shifted = s1 << 9
    s[2]! ^= s[0]!
    s[3]! ^= s1
    s[1]! ^= s[2]!
    s[0]! ^= s[3]!
    s[2]! ^= shifted
    const s3 = s[3]!
    s[3] = (s3 << 11) | (s3 >>> 21)
    return result
  }

  /** Uniform in [0, 1), 32 bits fine. */
  uniform(): number {
    return this.bits() / 4294967296
  }

  /** Uniform in [low, high). */
  between(low: number, high: number): number {
    return low + (high - low) * this.uniform()
  }

  /** Standard normal, by Marsaglia's polar method (SIAM Review 6(3), 1964; cited from memory). */
  normal(): number {
    if (this.hasSpare) {
      this.hasSpare = false
      return this.spare[0]!
    }
    let x = 0
    let y = 0
    let square = 0
    do {
      x = 2 * this.uniform() - 1
      y = 2 * this.uniform() - 1
      square = x * x + y * y
    } while (square >= 1 || square === 0)
    const factor = Math.sqrt((-2 * Math.log(square)) / square)
    this.spare[0] = y * factor
    this.hasSpare = true
    return x * factor
  }
}

/** A seed of its own for a part of a flight, so that a change in one part leaves the others' chance alone. */
export function seedFor(seed: number, part: string): number {
  let hash = mix(seed >>> 0)
  for (let index = 0; index < part.length; index++) hash = mix((hash ^ part.charCodeAt(index)) >>> 0)
  return hash
}

function mix(value: number): number {
  let h = value
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b)
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35)
  return (h ^ (h >>> 16)) >>> 0
}
