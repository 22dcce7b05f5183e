import { describe, expect, test, vi } from 'vitest'
import { HOSTILE } from '../share/hostile.ts'

// The theme asks the window for the system's.
vi.stubGlobal('window', { matchMedia: () => ({ matches: false, addEventListener: () => undefined }) })
const { parseSettings } = await import('../../../renderer/library/program-settings.ts')

const GOOD = { program: 'Twopack', format: 1, theme: 'dark' }

describe('settings in a file', () => {
  test('are read back as written', () => {
    const whole = {
      ...GOOD,
      shortcuts: { 'compare.whole': ['H'] },
      declaredBeforeLooking: { deltas: { lag: 3 }, headline: null, adjust: 'Holm' },
      glossary: [],
    }
    expect(parseSettings(JSON.stringify(whole))).toEqual(whole)
  })

  test.each([
    ['no JSON', 'theme = dark', /not JSON/],
    ['another program’s', '{"program":"other","format":1}', /program/],
    ['a newer version’s', JSON.stringify({ ...GOOD, format: 2 }), /newer Twopack/],
    ['an unknown name', JSON.stringify({ ...GOOD, startWith: 'x' }), /startWith/],
    [
      'a value that does not fit',
      JSON.stringify({
        ...GOOD,
        declaredBeforeLooking: { deltas: { lag: -1 }, headline: null, adjust: 'Holm' },
      }),
      /declaredBeforeLooking\.deltas/,
    ],
    ['a list', '[]', /settings/],
    ['something huge', ' '.repeat(2_000_001), /too large/],
  ])('%s is refused in one sentence', (_what, text, sentence) => {
    expect(() => parseSettings(text)).toThrow(sentence)
  })

  test('hostile text is refused or stays text', () => {
    for (const { text } of HOSTILE) {
      expect(() => parseSettings(text)).toThrow()
      expect(() => parseSettings(JSON.stringify({ ...GOOD, theme: text }))).toThrow(/do not fit at "theme"/)
    }
  })
})
