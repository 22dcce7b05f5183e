import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { COLOUR_MAPS } from '../../../workers/colour/colour-maps.ts'
import { paintLevels, rgbOf } from '../../../workers/colour/paint-levels.ts'
import { resampleLevels } from '../../../workers/colour/resample-levels.ts'
import { PALETTES } from '../../../workers/picture/theme.ts'

/** sRGB byte to linear light, IEC 61966-2-1. */
const linear = (byte: number): number => {
  const coded = byte / 255
  return coded <= 0.04045 ? coded / 12.92 : ((coded + 0.055) / 1.055) ** 2.4
}
const luminance = ([red, green, blue]: readonly number[]): number =>
  0.2126 * linear(red as number) + 0.7152 * linear(green as number) + 0.0722 * linear(blue as number)
/** CIE L*. */
const lightness = (colour: readonly number[]): number => {
  const y = luminance(colour)
  return y > 216 / 24389 ? 116 * Math.cbrt(y) - 16 : (24389 / 27) * y
}
const colourAt = (name: keyof typeof COLOUR_MAPS, index: number): number[] => [
  ...COLOUR_MAPS[name].subarray(index * 3, index * 3 + 3),
]

describe('colour maps', () => {
  test.each(['viridis', 'magma', 'grey'] as const)('%s has 256 colours of rising lightness', (name) => {
    expect(COLOUR_MAPS[name]).toHaveLength(768)
    const levels = Array.from({ length: 256 }, (_, index) => lightness(colourAt(name, index)))
    // Rounding to 8 bits lets the darkest neighbours differ by a hair in either direction.
    for (let index = 1; index < 256; index++) {
      expect(levels[index] as number).toBeGreaterThan((levels[index - 1] as number) - 0.35)
    }
    for (let index = 8; index < 256; index++) {
      expect(levels[index] as number).toBeGreaterThan(levels[index - 8] as number)
    }
    expect((levels[255] as number) - (levels[0] as number)).toBeGreaterThan(70)
  })

  // matplotlib, lib/matplotlib/_cm_listed.py (commit 07d25f3cc4), published as CC0.
  test.each([
    ['magma', 0, [0.001462, 0.000466, 0.013866]],
    ['magma', 128, [0.716387, 0.214982, 0.47529]],
    ['magma', 255, [0.987053, 0.991438, 0.749504]],
    ['viridis', 0, [0.267004, 0.004874, 0.329415]],
    ['viridis', 127, [0.128729, 0.563265, 0.551229]],
    ['viridis', 128, [0.127568, 0.566949, 0.550556]],
    ['viridis', 191, [0.360741, 0.785964, 0.387814]],
    ['viridis', 255, [0.993248, 0.906157, 0.143936]],
  ] as const)('%s %i is the published colour', (name, index, published) => {
    const bytes = colourAt(name, index)
    published.forEach((share, channel) => {
      expect(Math.abs((bytes[channel] as number) - share * 255)).toBeLessThanOrEqual(0.51)
    })
  })

  test('grey has even steps of lightness', () => {
    for (let index = 0; index < 256; index++) {
      expect(Math.abs(lightness(colourAt('grey', index)) - (100 * index) / 255)).toBeLessThan(0.4)
    }
  })
})

describe('the palettes', () => {
  const contrast = (one: string, other: string): number => {
    const [low, high] = [luminance(rgbOf(one)), luminance(rgbOf(other))].sort((x, y) => x - y) as [
      number,
      number,
    ]
    return (high + 0.05) / (low + 0.05)
  }

  // WCAG 2.2, 1.4.3 (text 4.5) and 1.4.11 (graphics 3).
  test.each(['light', 'dark'] as const)('%s has AA contrast', (theme) => {
    const palette = PALETTES[theme]
    for (const ground of [palette.background, palette.pane, palette.stripe, palette.empty]) {
      expect(contrast(palette.text, ground)).toBeGreaterThanOrEqual(4.5)
      expect(contrast(palette.muted, ground)).toBeGreaterThanOrEqual(4.5)
    }
    for (const flight of ['a', 'b'] as const) {
      expect(contrast(palette.onFlight[flight], palette.flight[flight])).toBeGreaterThanOrEqual(4.5)
      for (const ground of [palette.background, palette.pane]) {
        expect(contrast(palette.flight[flight], ground)).toBeGreaterThanOrEqual(theme === 'dark' ? 4.5 : 3)
      }
    }
  })

  test('light uses the blue and vermilion of Okabe and Ito (2008): 0 114 178 and 213 94 0', () => {
    expect(rgbOf(PALETTES.light.flight.a)).toEqual([0, 114, 178])
    expect(rgbOf(PALETTES.light.flight.b)).toEqual([213, 94, 0])
  })
})

describe('painting levels', () => {
  const range = { min_db: -40, max_db: 0 }
  const map = COLOUR_MAPS.viridis

  test('puts time along x and frequency up', () => {
    // Two frames of three bins; only the highest bin of the second frame is loud.
    const levels = Float32Array.from([-40, -40, -40, -40, -40, 0])
    const pixels = paintLevels(levels, 2, 3, range, map)
    expect(pixels).toHaveLength(2 * 3 * 4)
    const at = (x: number, y: number): number[] => [...pixels.subarray((y * 2 + x) * 4, (y * 2 + x) * 4 + 4)]
    expect(at(1, 0)).toEqual([...colourAt('viridis', 255), 255])
    for (const [x, y] of [
      [0, 0],
      [0, 1],
      [1, 1],
      [0, 2],
      [1, 2],
    ] as const) {
      expect(at(x, y)).toEqual([...colourAt('viridis', 0), 255])
    }
  })

  test('takes the end colours beyond the range, half the map in its middle, and nothing for NaN', () => {
    const levels = Float32Array.from([-1000, 1000, -20, Number.NaN, Number.NEGATIVE_INFINITY])
    const pixels = paintLevels(levels, 5, 1, range, map)
    const at = (x: number): number[] => [...pixels.subarray(x * 4, x * 4 + 4)]
    expect(at(0)).toEqual([...colourAt('viridis', 0), 255])
    expect(at(1)).toEqual([...colourAt('viridis', 255), 255])
    expect(at(2)).toEqual([...colourAt('viridis', 128), 255])
    expect(at(3)).toEqual([0, 0, 0, 0])
    expect(at(4)).toEqual([...colourAt('viridis', 0), 255])
    expect([...paintLevels(levels, 5, 1, range, map, [9, 8, 7]).subarray(12, 16)]).toEqual([9, 8, 7, 255])
  })

  test('shifting levels and range together changes nothing', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -60, max: 20 }), { minLength: 6, maxLength: 6 }),
        fc.integer({ min: -50, max: 50 }),
        (levels, shift) => {
          const moved = { min_db: range.min_db + shift, max_db: range.max_db + shift }
          const plain = paintLevels(Float32Array.from(levels), 2, 3, range, map)
          expect(
            paintLevels(
              Float32Array.from(levels, (level) => level + shift),
              2,
              3,
              moved,
              map,
            ),
          ).toEqual(plain)
        },
      ),
    )
  })

  test('refuses sizes and ranges that are none', () => {
    expect(() => paintLevels(new Float32Array(5), 2, 3, range, map)).toThrow(
      'levels are not frames x bins: 5, 2 x 3',
    )
    expect(() => paintLevels(new Float32Array(6), 2, 3, { min_db: 0, max_db: 0 }, map)).toThrow(
      'no range of levels',
    )
    expect(() => rgbOf('red')).toThrow('not a colour: red')
  })
})

describe('resampling levels', () => {
  const grid = (frames: number, bins: number, level_db: ArrayLike<number>) => ({
    frames,
    bins,
    t_s: Float64Array.from({ length: frames }, (_, index) => index + 0.5),
    f_hz: Float64Array.from({ length: bins }, (_, index) => (index + 0.5) * 10),
    level_db: Float32Array.from(level_db),
  })
  const noise = (count: number): number[] =>
    Array.from({ length: count }, (_, index) => -50 + ((index * 7919) % 61))

  test('a cell for every frame and bin gives the levels themselves', () => {
    const from = grid(7, 5, noise(35))
    const window = { t0_s: 0, t1_s: 7, f0_hz: 0, f1_hz: 50 }
    expect(resampleLevels(from, window, 7, 5)).toEqual(from.level_db)
  })

  test('fewer cells hold the mean power of what they cover', () => {
    const from = grid(6, 4, noise(24))
    const result = resampleLevels(from, { t0_s: 0, t1_s: 6, f0_hz: 0, f1_hz: 40 }, 2, 2)
    for (const [column, row] of [
      [0, 0],
      [0, 1],
      [1, 0],
      [1, 1],
    ] as const) {
      let power = 0
      for (let frame = 3 * column; frame < 3 * column + 3; frame++) {
        for (let bin = 2 * row; bin < 2 * row + 2; bin++)
          power += 10 ** ((from.level_db[frame * 4 + bin] as number) / 10)
      }
      expect(result[column * 2 + row]).toBeCloseTo(10 * Math.log10(power / 6), 1)
    }
  })

  test('more cells repeat the nearest frame and bin', () => {
    const result = resampleLevels(
      grid(2, 2, [-3, -4, -9, -8]),
      { t0_s: 0, t1_s: 2, f0_hz: 0, f1_hz: 20 },
      6,
      4,
    )
    const quiet = [-3, -3, -4, -4]
    const loud = [-9, -9, -8, -8]
    expect([...result]).toEqual([quiet, quiet, quiet, loud, loud, loud].flat())
  })

  test('leaves empty what was not recorded: before, after, in gaps and above half the rate', () => {
    const from = grid(3, 2, [-1, -2, Number.NaN, Number.NaN, -5, -6])
    const result = resampleLevels(from, { t0_s: -1, t1_s: 4, f0_hz: 0, f1_hz: 30 }, 5, 3)
    const none = Number.NaN
    expect([...result]).toEqual([
      none,
      none,
      none,
      -1,
      -2,
      none,
      none,
      none,
      none,
      -5,
      -6,
      none,
      none,
      none,
      none,
    ])
  })

  test('a level louder by any amount makes no cell quieter', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 23 }), fc.integer({ min: 1, max: 40 }), (at, louder) => {
        const window = { t0_s: 0, t1_s: 6, f0_hz: 0, f1_hz: 40 }
        const before = resampleLevels(grid(6, 4, noise(24)), window, 4, 3)
        const levels = noise(24)
        levels[at] = (levels[at] as number) + louder
        resampleLevels(grid(6, 4, levels), window, 4, 3).forEach((level, index) => {
          expect(level).toBeGreaterThanOrEqual(before[index] as number)
        })
      }),
    )
  })

  test('refuses disagreeing sizes and empty windows', () => {
    const window = { t0_s: 0, t1_s: 1, f0_hz: 0, f1_hz: 1 }
    expect(() => resampleLevels({ ...grid(2, 2, noise(4)), frames: 3 }, window, 2, 2)).toThrow(
      'levels are not frames',
    )
    expect(() => resampleLevels(grid(2, 2, noise(4)), { ...window, t1_s: 0 }, 2, 2)).toThrow('empty window')
  })
})
