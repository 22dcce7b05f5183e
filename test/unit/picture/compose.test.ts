import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { composeComparison, pictureSize } from '../../../workers/picture/compose.ts'
import type { Arrangement, ComparisonPicture } from '../../../workers/picture/model.ts'
import { PALETTES } from '../../../workers/picture/theme.ts'
import { type DrawnPath, overlaps, RecordingContext } from './recording-context.ts'
import { exchanged, smallModel } from './small-models.ts'

function draw(model: ComparisonPicture): RecordingContext {
  const context = new RecordingContext()
  composeComparison(context, model)
  return context
}

/** The curves of panes, not marks, grid or legend. */
const curves = (context: RecordingContext): DrawnPath[] =>
  context.paths.filter((path) => path.kind === 'stroke' && path.clip !== null && path.points.length > 50)

const words = (context: RecordingContext): string => context.texts.map(({ text }) => text).join('\n')

/** Every text inside the canvas and apart from every other and from all pixel images but its own remarks. */
function expectTidy(context: RecordingContext, model: ComparisonPicture): void {
  const { width_px, height_px } = pictureSize(model)
  for (const text of context.texts) {
    const inside =
      text.x >= 0 && text.y >= 0 && text.x + text.width <= width_px && text.y + text.height <= height_px
    expect(inside, `inside the picture: ${text.text}`).toBe(true)
    expect(text.size, text.text).toBeGreaterThanOrEqual(12)
  }
  context.texts.forEach((one, index) => {
    for (const other of context.texts.slice(index + 1)) {
      expect(overlaps(one, other), `"${one.text}" over "${other.text}"`).toBe(false)
    }
    for (const image of context.images) {
      if (/not recorded|not in the log/.test(one.text)) continue
      expect(overlaps(one, image), `"${one.text}" over pixels`).toBe(false)
    }
  })
}

const arrangements: Arrangement[] = ['overlaid', 'beside']

describe.each(arrangements)('the picture, %s', (arrangement) => {
  const model = smallModel({ arrangement })

  test('holds names, labels, rates, axes, units, scales, numbers, notices and the caution', () => {
    const text = words(draw(model))
    const wanted = [
      'What more damping did',
      'A (before)',
      'B (after)',
      'first.csv',
      'second.csv',
      '1000 Hz log · 10.0 s long · 14 May, 16:02 · Red',
      '400.0 Hz log · 10.0 s long · Red',
      'Shown: 0.0 to 10.0 s, time. Lined up by the sticks: likely.',
      'Roll',
      'Pitch',
      'Yaw',
      'Throttle',
      'deg/s',
      '−100',
      '4 s',
      'Tracking error, RMS, deg/s, lower is better',
      '20.0',
      '16.0',
      '−4.1 (−20 %)',
      '–¹',
      '¹ No setpoint in B.',
      'B was flown harder.',
      'Two gaps in A.',
      'Twopack',
      'A log shows what was recorded, not that a craft is airworthy.',
      'one scale for A and B',
    ]
    for (const want of wanted) expect(text).toContain(want)
    expect(text).toMatch(/\d+ Hz/)
  })

  test('draws both flights in their own colour, gyro solid and setpoint dashed', () => {
    const drawn = curves(draw(model))
    const { flight } = PALETTES.light
    for (const colour of [flight.a, flight.b]) {
      const own = drawn.filter((path) => path.colour === colour)
      expect(own.filter((path) => path.dash.length > 0)).toHaveLength(3)
      // Three gyros and the throttle.
      expect(own.filter((path) => path.dash.length === 0)).toHaveLength(4)
    }
    expect(drawn.every((path) => path.colour === flight.a || path.colour === flight.b)).toBe(true)
  })

  test('has a legend with a sample of each line and with words', () => {
    const context = draw(model)
    const text = words(context)
    for (const entry of ['A gyro', 'A setpoint', 'B gyro', 'B setpoint']) expect(text).toContain(entry)
    const samples = context.paths.filter(
      (path) =>
        path.kind === 'stroke' && path.clip === null && path.points.length === 2 && path.dash.length > 0,
    )
    expect(samples.map((sample) => sample.colour).sort()).toEqual(Object.values(PALETTES.light.flight).sort())
  })

  test('marks the flights by shape too: discs for A, triangles for B', () => {
    const marks = draw(model).paths.filter((path) => path.kind === 'stroke' && path.lineWidth !== 1)
    const triangles = marks.filter((path) => path.points.length === 3)
    expect(triangles.length).toBeGreaterThan(8)
    expect(new Set(triangles.map((path) => path.colour))).toContain(PALETTES.light.flight.b)
    expect(new Set(triangles.map((path) => path.colour))).not.toContain(PALETTES.light.flight.a)
  })

  test('names what a log lacks instead of drawing nothing', () => {
    const rows = model.rows.map((row) => ({
      ...row,
      traces: row.traces.filter((trace) => trace.flight === 'a' || trace.signal === 'gyro'),
    }))
    const context = draw({ ...model, rows })
    expect(words(context)).toContain('B setpoint: not in the log')
    expectTidy(context, { ...model, rows })
  })

  test('is tidy: nothing outside, nothing overlaps', () => {
    for (const width_px of [900, 1200, 1600, 2400]) {
      const wide = { ...model, width_px }
      expectTidy(draw(wide), wide)
    }
  })

  test('the scale only scales', () => {
    const one = draw({ ...model, scale: 1 })
    const two = draw({ ...model, scale: 2 })
    expect(two.texts).toEqual(one.texts)
    expect(two.paths).toEqual(one.paths)
    expect(two.rectangles).toEqual(one.rectangles)
    const places = (context: RecordingContext): unknown =>
      context.images.map(({ x, y, width, height }) => ({ x, y, width, height }))
    expect(places(two)).toEqual(places(one))
    expect(pictureSize({ ...model, scale: 2 }).canvasWidth).toBe(2400)
  })

  test('exchanging A and B exchanges colours and keeps every place', () => {
    const { a, b } = PALETTES.light.flight
    const swap = (colour: string): string => (colour === a ? b : colour === b ? a : colour)
    const shape = (path: DrawnPath, colour: string): string =>
      JSON.stringify([
        colour,
        path.dash.length > 0,
        arrangement === 'overlaid' ? path.points : path.points.length,
      ])
    const before = curves(draw(model)).map((path) => shape(path, swap(path.colour)))
    const after = curves(draw(exchanged(model))).map((path) => shape(path, path.colour))
    expect(after.sort()).toEqual(before.sort())
  })

  test('the same model gives the same calls, and the context is left as it was', () => {
    const once = draw(model)
    const again = draw(model)
    expect(again.texts).toEqual(once.texts)
    expect(again.paths).toEqual(once.paths)
    expect(once.depth).toBe(0)
  })
})

test('beside, exchanging A and B moves each curve into the other column', () => {
  const model = smallModel({ arrangement: 'beside' })
  const left = (context: RecordingContext, colour: string): number[] =>
    curves(context)
      .filter((path) => path.colour === colour)
      .map((path) => path.points[0]?.[0] ?? Number.NaN)
  const { a, b } = PALETTES.light.flight
  const before = draw(model)
  const after = draw(exchanged(model))
  expect(Math.max(...left(before, a))).toBeLessThan(Math.min(...left(before, b)))
  expect(left(after, a)).toEqual(left(before, a))
  // The data moved: A's first point now has B's height.
  const heights = (context: RecordingContext, colour: string): number[] =>
    curves(context)
      .filter((path) => path.colour === colour)
      .map((path) => path.points[40]?.[1] ?? Number.NaN)
      .sort()
  expect(heights(after, a)).toEqual(heights(before, b))
})

test('curves lie where the numbers say, on one scale for both flights', () => {
  const model = smallModel()
  const drawn = curves(draw(model)).filter((path) => path.dash.length === 0)
  const pane = drawn[0]?.clip
  if (pane === undefined || pane === null) throw new Error('no pane')
  for (const flight of ['a', 'b'] as const) {
    const trace = model.rows[0]?.traces.find((one) => one.flight === flight && one.signal === 'gyro')
    const path = drawn.find(
      (one) =>
        one.colour === PALETTES.light.flight[flight] && one.clip?.y === pane.y && one.points.length === 200,
    )
    const point = path?.points[70]
    if (trace === undefined || point === undefined) throw new Error('no curve')
    // -100..100 deg/s over the pane's height, 0..10 s over its width.
    const y = pane.y + pane.height * (1 - ((trace.y[70] as number) + 100) / 200)
    const x = pane.x + (pane.width * (trace.t_s[70] as number)) / 10
    expect(point[0]).toBeCloseTo(x, 9)
    expect(point[1]).toBeCloseTo(y, 9)
  }
})

test('every scale has ticks to read it by', () => {
  for (const largest of [40, 60, 150, 400, 700, 1200]) {
    for (const arrangement of arrangements) {
      const base = smallModel({ arrangement })
      const rows = base.rows.map((row) => ({ ...row, yMin: -largest, yMax: largest }))
      const context = draw({ ...base, rows })
      // Of each flight's own column or the common pane: the first pane is framed first.
      const pane = context.rectangles.find(({ kind }) => kind === 'stroke')
      if (pane === undefined) throw new Error('no pane')
      const beside = context.texts.filter(
        ({ x, y, text }) =>
          x < pane.x && y > pane.y - 12 && y < pane.y + pane.height - 2 && /^−?\d+$/.test(text),
      )
      expect(beside.length, `${arrangement}, ${largest}`).toBeGreaterThanOrEqual(3)
    }
  }
})

test('a gap in a spectrogram is explained', () => {
  const { spectrograms, ...base } = smallModel()
  if (spectrograms === undefined) throw new Error('no spectrograms')
  const lanes = spectrograms.lanes.map((lane) => ({
    ...lane,
    level_db: lane.level_db.slice().fill(Number.NaN, 40, 80),
  }))
  for (const arrangement of arrangements) {
    const model = { ...base, arrangement, spectrograms: { ...spectrograms, lanes } }
    const context = draw(model)
    expect(words(context)).toMatch(/A and B; blank: (a )?gap/)
    expectTidy(context, model)
  }
})

test('gaps break a curve: no line joins what was not recorded', () => {
  const model = smallModel()
  const row = model.rows[0]
  const trace = row?.traces[0]
  if (row === undefined || trace === undefined) throw new Error('no row')
  const y = trace.y.slice()
  y.fill(Number.NaN, 50, 60)
  const moves: number[] = []
  class Counting extends RecordingContext {
    override moveTo(x: number, y_px: number): void {
      super.moveTo(x, y_px)
      moves.push(x)
    }
  }
  const count = (traceY: Float32Array): number => {
    moves.length = 0
    composeComparison(new Counting(), { ...model, rows: [{ ...row, traces: [{ ...trace, y: traceY }] }] })
    return moves.length
  }
  expect(count(y) - count(trace.y)).toBe(1)
})

describe('odd models', () => {
  const anyText = fc.oneof(
    fc.string({ unit: 'grapheme', maxLength: 300 }),
    fc.string({ unit: 'binary', maxLength: 60 }),
    fc.constantFrom(
      '',
      'W'.repeat(400),
      'W'.repeat(120),
      '\u5927'.repeat(130),
      'two words '.repeat(60),
      '<script>alert(1)</script>',
      '\u202eabc\n\tdef',
    ),
  )
  const notice = fc.record({
    level: fc.constantFrom('info' as const, 'caution' as const, 'missing' as const),
    text: anyText,
  })
  const anyCell = fc.record(
    {
      a: fc.option(fc.double({ min: -1e6, max: 1e6, noNaN: true })),
      b: fc.option(fc.double({ min: -1e6, max: 1e6, noNaN: true })),
      difference: fc.option(fc.double({ min: -1e6, max: 1e6, noNaN: true })),
      reason: anyText,
      word: fc.constantFrom('better' as const, 'no clear difference' as const, "can't tell" as const),
      interval: fc.record({
        low: fc.double({ min: -1e6, max: 0, noNaN: true }),
        high: fc.double({ min: 0, max: 1e6, noNaN: true }),
      }),
      pairs: fc.integer({ min: 0, max: 10_000 }),
    },
    { requiredKeys: ['a', 'b', 'difference'] },
  )
  const measure = fc.record({
    label: anyText,
    unit: fc.constantFrom('deg/s', 'ms', '%'),
    digits: fc.integer({ min: 0, max: 3 }),
    better: fc.constantFrom('lower' as const, 'higher' as const, 'neither' as const),
    cells: fc.record({ roll: anyCell, pitch: anyCell }, { requiredKeys: [] }),
  })
  const flight = fc.record({
    label: anyText,
    name: anyText,
    craft: anyText,
    date: anyText,
    rate_hz: fc.double({ min: 1, max: 32_000, noNaN: true }),
    duration_s: fc.double({ min: 0.1, max: 10_000, noNaN: true }),
  })
  const change = fc.record({
    title: anyText,
    alignment: anyText,
    theme: fc.constantFrom('light' as const, 'dark' as const),
    width_px: fc.integer({ min: 900, max: 2400 }),
    arrangement: fc.constantFrom(...arrangements),
    a: flight,
    b: flight,
    headlines: fc.array(anyText, { maxLength: 8 }),
    settings: fc.array(fc.record({ name: anyText, a: fc.option(anyText), b: fc.option(anyText) }), {
      maxLength: 4,
    }),
    note: anyText,
    notices: fc.array(notice, { maxLength: 9 }),
    measures: fc.array(measure, { maxLength: 7 }),
    footer: fc.record({ program: anyText, leftOut: fc.array(anyText, { maxLength: 4 }), caution: anyText }),
    span: fc
      .tuple(
        fc.double({ min: -1e4, max: 1e4, noNaN: true }),
        fc.double({ min: 0.05, max: 5000, noNaN: true }),
      )
      .map(([t0_s, length_s]) => ({ t0_s, t1_s: t0_s + length_s, clock: 'time since the start of A' })),
  })
  const parts = fc.record({
    rows: fc.integer({ min: 0, max: 3 }),
    throttle: fc.boolean(),
    spectrograms: fc.boolean(),
  })

  test('whatever the texts and parts, nothing leaves the picture and nothing overlaps', () => {
    fc.assert(
      fc.property(change, parts, (changed, chosen) => {
        const { throttle, spectrograms, ...base } = smallModel()
        const model: ComparisonPicture = {
          ...base,
          ...(chosen.throttle && throttle !== undefined ? { throttle } : {}),
          ...(chosen.spectrograms && spectrograms !== undefined ? { spectrograms } : {}),
          ...changed,
          rows: base.rows.slice(0, chosen.rows),
        }
        expectTidy(draw(model), model)
      }),
      { numRuns: 60, seed: 20 },
    )
  })

  test('text that looks like markup is drawn as text, without letters that turn the direction', () => {
    const context = draw(smallModel({ title: '<b>Bold</b> & "q"', note: 'a\u202eb\u0000c\nd' }))
    expect(words(context)).toContain('<b>Bold</b> & "q"')
    expect(words(context)).toContain('abc d')
  })

  test('refuses a width, scale or span that gives no picture', () => {
    expect(() => pictureSize(smallModel({ width_px: 300 }))).toThrow('width must be 900 to 2400: 300')
    expect(() => pictureSize(smallModel({ scale: 0 }))).toThrow('scale must be above 0')
    expect(() => pictureSize(smallModel({ span: { t0_s: 3, t1_s: 3 } }))).toThrow(
      'the span is empty: 3 to 3 s',
    )
  })

  test('a picture with every usual part is 1200 x 800, drawn at twice that', () => {
    const usual = smallModel({
      scale: 2,
      notices: [],
      footer: { program: 'Twopack', leftOut: [], caution: '' },
    })
    for (const arrangement of arrangements) {
      const cells = { roll: { a: 1, b: 2, difference: 1 } }
      const measures = usual.measures.map((one) => ({ ...one, cells }))
      const size = pictureSize({ ...usual, arrangement, measures })
      expect(size).toEqual({ width_px: 1200, height_px: 800, canvasWidth: 2400, canvasHeight: 1600 })
    }
  })
})
