/**
 * Seeded random numbers: the only source of chance in the model, so that one seed always makes the same flight.
 *
 * Generator: xoshiro128** 1.1 by David Blackman and Sebastiano Vigna (2018, public domain), 32 bits a draw,
 * seeded through a 32-bit mixing counter (the finaliser of MurmurHash3 by Austin Appleby, public domain).
 */
export class Random {
  private readonly s: Uint32Array

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

  /**
   * Standard normal, by the ziggurat of 128 layers (Marsaglia & Tsang, J. Stat. Software 5(8), 2000, from memory;
   * layer and position come from separate bits, as Doornik 2005 advises).
   */
  normal(): number {
    for (;;) {
      const bits = this.bits()
      const layer = bits & 127
      const signed = bits >> 8
      const x = signed * WIDTH[layer]!
      if (Math.abs(signed) < INSIDE[layer]!) return x
      if (layer === 0) return this.tail(signed < 0)
      const high = HEIGHT[layer]!
      if (high + this.uniform() * (HEIGHT[layer + 1]! - high) < Math.exp(-0.5 * x * x)) return x
    }
  }

  /** The tail beyond the lowest layer, by Marsaglia's method. */
  private tail(negative: boolean): number {
    for (;;) {
      const x = -Math.log(1 - this.uniform()) / TAIL_START
      const y = -Math.log(1 - this.uniform())
      if (y + y > x * x) return negative ? -TAIL_START - x : TAIL_START + x
    }
  }
}

const LAYERS = 128
/** Where the tail begins and the area of each layer, for 128 layers. */
const TAIL_START = 3.442619855899
const LAYER_AREA = 9.91256303526217e-3
/** Positions are 24-bit signed whole numbers. */
const POSITIONS = 2 ** 23
/** Per layer: size of one position, positions surely below the curve, and the layer's lower edge. */
const WIDTH = new Float64Array(LAYERS)
const INSIDE = new Float64Array(LAYERS)
const HEIGHT = new Float64Array(LAYERS + 1)

/** Layer edges from the widest (0, the base with the tail) to the narrowest. */
function buildLayers(): void {
  const density = (x: number) => Math.exp(-0.5 * x * x)
  const edge = new Float64Array(LAYERS + 1)
  edge[0] = LAYER_AREA / density(TAIL_START)
  edge[1] = TAIL_START
  for (let layer = 2; layer < LAYERS; layer++)
    edge[layer] = Math.sqrt(-2 * Math.log(LAYER_AREA / edge[layer - 1]! + density(edge[layer - 1]!)))
  edge[LAYERS] = 0
  for (let layer = 0; layer < LAYERS; layer++) {
    WIDTH[layer] = edge[layer]! / POSITIONS
    INSIDE[layer] = (edge[layer + 1]! / edge[layer]!) * POSITIONS
    HEIGHT[layer] = layer === 0 ? 0 : density(edge[layer]!)
  }
  HEIGHT[LAYERS] = 1
}
buildLayers()

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
