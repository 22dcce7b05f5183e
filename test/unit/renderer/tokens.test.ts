/**
 * The theme's colours, computed from tokens.css itself. Contrast as in W3C, Web Content Accessibility Guidelines 2.2:
 * relative luminance and contrast ratio by its definitions; 4.5 to 1 for text (success criterion 1.4.3, level AA), 3 to
 * 1 for what is not text but tells something (1.4.11).
 */
import { globSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'

const RENDERER = join(import.meta.dirname, '../../../renderer')
const read = (path: string) => readFileSync(join(RENDERER, path), 'utf8')

/** The colours of a block of tokens, as red, green and blue of 0 to 1. */
function tokensOf(selector: string): Record<string, [number, number, number]> {
  const css = read('theme/tokens.css')
  const start = css.indexOf(`${selector} {`)
  const block = css.slice(start, css.indexOf('}', start))
  return Object.fromEntries(
    [...block.matchAll(/--([a-z-]+): #([0-9a-f]{6});/g)].map(([, name, hex]) => [
      name!,
      [0, 2, 4].map((at) => Number.parseInt(hex!.slice(at, at + 2), 16) / 255) as [number, number, number],
    ]),
  )
}

/** WCAG 2.2, "relative luminance". */
const luminance = (colour: readonly number[]) =>
  colour
    .map((part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4))
    .reduce((sum, part, at) => sum + part * [0.2126, 0.7152, 0.0722][at]!, 0)

/** WCAG 2.2, "contrast ratio". */
function contrast(one: readonly number[], other: readonly number[]): number {
  const [dark, light] = [luminance(one), luminance(other)].sort((a, b) => a - b) as [number, number]
  return (light + 0.05) / (dark + 0.05)
}

const ON_ALL = ['paper', 'sheet', 'well']
const TEXT: readonly [string, readonly string[]][] = [
  ['ink', [...ON_ALL, 'flight-a-wash', 'flight-b-wash', 'accent-wash', 'caution-wash', 'failed-wash']],
  ['ink-soft', [...ON_ALL, 'flight-a-wash', 'flight-b-wash', 'accent-wash']],
  ['flight-a-text', [...ON_ALL, 'flight-a-wash']],
  ['flight-b-text', [...ON_ALL, 'flight-b-wash']],
  ['accent', ['paper', 'sheet']],
  ['accent-ink', ['accent']],
  ['caution', ['paper', 'sheet', 'caution-wash']],
  ['failed', ['paper', 'sheet', 'failed-wash']],
  // Pressed A and B buttons.
  ['sheet', ['flight-a', 'flight-b-text']],
]
/** Lines of plots, borders of controls, rings of focus. */
const SHAPES: readonly [string, readonly string[]][] = [
  ['flight-a', ON_ALL],
  ['flight-b', ON_ALL],
  ['cursor', ON_ALL],
  ['accent', ON_ALL],
  ['rule-strong', ['paper', 'sheet']],
]

test('the formula gives the known ratios', () => {
  expect(contrast([0, 0, 0], [1, 1, 1])).toBeCloseTo(21, 10)
  // Greys on white that every guide to the criterion names (from memory): #767676 passes with 4.54, #777777 fails with 4.48.
  const grey = (level: number) => [level / 255, level / 255, level / 255]
  expect(contrast(grey(0x76), [1, 1, 1])).toBeCloseTo(4.54, 2)
  expect(contrast(grey(0x77), [1, 1, 1])).toBeCloseTo(4.48, 2)
})

describe.each([
  ['light', ':root'],
  ['dark', ":root[data-theme='dark']"],
])('%s theme', (_, selector) => {
  const tokens = tokensOf(selector)
  const ratio = (one: string, other: string) => contrast(tokens[one]!, tokens[other]!)

  test.each(TEXT)('%s can be read on all that it stands on', (ink, grounds) => {
    for (const ground of grounds)
      expect(ratio(ink, ground), `${ink} on ${ground}`).toBeGreaterThanOrEqual(4.5)
  })

  test.each(SHAPES)('%s can be told from all that it stands on', (shape, grounds) => {
    for (const ground of grounds)
      expect(ratio(shape, ground), `${shape} on ${ground}`).toBeGreaterThanOrEqual(3)
  })
})

test('both themes have the same colours, but for those of paper and of maps, which have one look', () => {
  const [light, dark] = [tokensOf(':root'), tokensOf(":root[data-theme='dark']")].map((tokens) =>
    Object.keys(tokens)
      .filter((name) => !/^(print|lane)/.test(name))
      .sort(),
  )
  expect(dark).toEqual(light)
})

/** The bar that stands for a colour map has the map's colours. */
const OF_A_MAP = ['compare/Toolbar.svelte']
/** What is printed is measured as paper is. */
const ON_PAPER = ['fieldcard/CardOnPaper.svelte']

describe('styles', () => {
  const styles = globSync('**/*.{svelte,css}', { cwd: RENDERER })
    .filter((path) => !path.endsWith('tokens.css'))
    .map((path) => ({
      path,
      css: path.endsWith('.css') ? read(path) : (read(path).split('<style>')[1] ?? ''),
    }))

  test('take every colour from the tokens', () => {
    const own = styles.filter(({ css }) => /#[0-9a-f]{3,8}\b|\b(rgb|hsl|oklch|oklab|lab)a?\(/i.test(css))
    expect(own.map(({ path }) => path).filter((path) => !OF_A_MAP.includes(path))).toEqual([])
  })

  test("size text by the system's size", () => {
    const fixed = styles.filter(({ css }) => /font(-size)?:[^;]*\d(px|pt|vw|vh)/.test(css))
    expect(fixed.map(({ path }) => path).filter((path) => !ON_PAPER.includes(path))).toEqual([])
  })

  test('use no token that there is not', () => {
    const defined = new Set([...read('theme/tokens.css').matchAll(/--([a-z-]+):/g)].map(([, name]) => name))
    const own = new Set(
      styles.flatMap(({ path }) => [...read(path).matchAll(/--([a-z-]+)[=:]/g)].map(([, name]) => name)),
    )
    const unknown = styles.flatMap(({ path, css }) =>
      [...css.matchAll(/var\(--([a-z-]+)/g)].flatMap(([, name]) =>
        defined.has(name!) || own.has(name!) ? [] : [`${path}: ${name}`],
      ),
    )
    expect(unknown).toEqual([])
  })
})
