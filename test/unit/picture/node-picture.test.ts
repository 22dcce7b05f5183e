import { createCanvas, loadImage, type SKRSContext2D } from '@napi-rs/canvas'
import { beforeAll, describe, expect, test } from 'vitest'
import { drawComparisonPng } from '../../../electron/report/node-picture.ts'
import { describeComparison } from '../../../workers/picture/describe.ts'
import type { ComparisonPicture } from '../../../workers/picture/model.ts'
import { readPngText } from '../../../workers/picture/png-text.ts'
import { rgbOf } from '../../../workers/colour/paint-levels.ts'
import { PALETTES } from '../../../workers/picture/theme.ts'
import { sharedData } from '../../shared-data.ts'
import { inventedFlight, modelOf, researchFlight } from './sample-models.ts'
import { smallModel } from './small-models.ts'

async function pixelsOf(png: Uint8Array): Promise<{ context: SKRSContext2D; width: number; height: number }> {
  const image = await loadImage(png)
  const context = createCanvas(image.width, image.height).getContext('2d')
  context.drawImage(image, 0, 0)
  return { context, width: image.width, height: image.height }
}

/** How many pixels have exactly this colour. */
function count(context: SKRSContext2D, box: [number, number, number, number], hex: string): number {
  const wanted = rgbOf(hex)
  const { data } = context.getImageData(...box)
  let found = 0
  for (let at = 0; at < data.length; at += 4) {
    if (data[at] === wanted[0] && data[at + 1] === wanted[1] && data[at + 2] === wanted[2]) found++
  }
  return found
}

describe('the PNG', () => {
  test.each(['light', 'dark'] as const)('of %s theme shows both flights in their colours', async (theme) => {
    const model = smallModel({
      theme,
      scale: 2,
      notices: [],
      footer: { ...smallModel().footer, leftOut: [] },
    })
    const { context, width, height } = await pixelsOf(await drawComparisonPng(model))
    expect(width).toBe(2400)
    const { flight, background } = PALETTES[theme]
    for (const colour of [flight.a, flight.b]) {
      expect(count(context, [0, 0, width, height], colour)).toBeGreaterThan(5000)
    }
    expect(count(context, [0, 0, width, 20], background)).toBe(width * 20)
  })

  test('carries title, description and program as text', async () => {
    const model = smallModel({ title: 'Did it help? <ü>' })
    expect(readPngText(await drawComparisonPng(model))).toEqual({
      Title: 'Did it help? <ü>',
      Description: describeComparison(model),
      Software: 'Twopack',
    })
  })

  test('is the same bytes for the same model', async () => {
    const one = await drawComparisonPng(smallModel())
    expect(await drawComparisonPng(smallModel())).toEqual(one)
  })

  test('of invented flights shows the louder motor line where it is: at its frequency, in both flights', async () => {
    const quiet = inventedFlight('A (before)', 0.5, 4)
    const loud = inventedFlight('B (after)', 0.5, 12)
    const model = modelOf(quiet, loud, { t0_s: 0, t1_s: 20 }, { arrangement: 'beside' })
    const lanes = model.spectrograms?.lanes ?? []
    const mean = (flight: 'a' | 'b'): number => {
      const levels = lanes.filter((lane) => lane.flight === flight).flatMap((lane) => [...lane.level_db])
      return levels.reduce((sum, level) => sum + level, 0) / levels.length
    }
    // Three times the amplitude is 20 log10 3 = 9.54 dB; the sticks' part, equal in both, takes little off.
    expect(mean('b') - mean('a')).toBeGreaterThan(8)
    expect(mean('b') - mean('a')).toBeLessThan(9.7)
  })
})

describe.skipIf(sharedData('research-quad/gains-original.csv') === null)(
  'the PNG of the research flights',
  () => {
    let model: ComparisonPicture

    beforeAll(() => {
      const read = (file: string, label: string) =>
        researchFlight(sharedData(`research-quad/${file}`) as string, label, 0)
      model = modelOf(read('gains-original.csv', 'A (before)'), read('gains-i0-d4.csv', 'B (after)'), {
        t0_s: 8.5,
        t1_s: 63.2,
      })
    })

    test('is 2400 x 1600 and drawn quickly', async () => {
      const start = performance.now()
      const png = await drawComparisonPng(model)
      // A figure to read, not a limit: the machine's load is not the picture's fault.
      console.log(`2400 x 1600 drawn and encoded in ${Math.round(performance.now() - start)} ms`)
      const { context, width, height } = await pixelsOf(png)
      expect([width, height]).toEqual([2400, 1600])
      const { flight } = PALETTES.light
      // Busy curves get a column each: A's left, B's right.
      const half = width / 2 + 100
      const rows: [number, number] = [300, 900]
      expect(count(context, [half + 100, rows[0], width - half - 100, rows[1]], flight.a)).toBe(0)
      expect(count(context, [half + 100, rows[0], width - half - 100, rows[1]], flight.b)).toBeGreaterThan(
        5000,
      )
      expect(count(context, [300, rows[0], half - 400, rows[1]], flight.a)).toBeGreaterThan(5000)
      expect(count(context, [300, rows[0], half - 400, rows[1]], flight.b)).toBe(0)
    })

    // data/README.md: lag of roll and pitch over 8.5 to 63.2 s is 33 and 33 ms in A, 34 and 33 ms in B (SciPy).
    test('prints the lags that SciPy finds, within 2 ms', () => {
      const lags = model.measures.find((measure) => measure.label === 'Lag')?.cells
      expect(Math.abs((lags?.roll?.a ?? 0) - 33)).toBeLessThan(2)
      expect(Math.abs((lags?.pitch?.a ?? 0) - 33)).toBeLessThan(2)
      expect(Math.abs((lags?.roll?.b ?? 0) - 34)).toBeLessThan(2)
      expect(Math.abs((lags?.pitch?.b ?? 0) - 33)).toBeLessThan(2)
      expect(describeComparison(model)).toMatch(/roll, Lag: A 3\d\.\d ms, B 3\d\.\d ms/)
    })
  },
)
