import { createCanvas } from '@napi-rs/canvas'
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { loadPictureFonts } from '../../../electron/report/node-picture.ts'
import { fitEnd, fitMiddle, linesFor, plainLine, textWidth, wrapText } from '../../../workers/picture/text.ts'

loadPictureFonts()
const context = createCanvas(1, 1).getContext('2d')
const style = { size: 12 }
const anyText = fc.oneof(
  fc.string({ unit: 'grapheme', maxLength: 200 }),
  fc.string({ unit: 'binary', maxLength: 80 }),
)

describe('text for a picture', () => {
  test('is one plain line', () => {
    expect(plainLine(' a\tb\r\nc ')).toBe('a b c')
    expect(plainLine('x\u202egnp.exe')).toBe('xgnp.exe')
    expect(plainLine('lone \ud800 half')).toBe('lone \ufffd half')
    expect(plainLine(`e${'\u0301'.repeat(40)}`)).toBe(`e${'\u0301'.repeat(3)}`)
    expect(plainLine('<b>&amp;</b>')).toBe('<b>&amp;</b>')
    expect(plainLine('Größe 大 🚁')).toBe('Größe 大 🚁')
  })

  test('made plain twice is made plain once', () => {
    fc.assert(fc.property(anyText, (text) => void expect(plainLine(plainLine(text))).toBe(plainLine(text))))
  })

  test('that fits stays whole; what does not is shortened until it fits', () => {
    fc.assert(
      fc.property(
        anyText,
        fc.integer({ min: 0, max: 400 }),
        fc.constantFrom(fitEnd, fitMiddle),
        (text, width, fit) => {
          const result = fit(context, text, width, style)
          const whole = plainLine(text)
          if (textWidth(context, whole, style) <= width) expect(result).toBe(whole)
          else expect(result === '' || result.includes('\u2026')).toBe(true)
          expect(result === '' ? 0 : textWidth(context, result, style)).toBeLessThanOrEqual(width)
        },
      ),
    )
  })

  test('in the middle keeps both ends, since names differ there', () => {
    const result = fitMiddle(context, `2026-05-14-${'x'.repeat(100)}-after.csv`, 200, style)
    expect(result).toMatch(/^2026-05.*\u2026.*after\.csv$/)
  })

  test('wrapped keeps to width and lines, and loses no word while there is room', () => {
    fc.assert(
      fc.property(
        anyText,
        fc.integer({ min: 40, max: 400 }),
        fc.integer({ min: 0, max: 6 }),
        (text, width, most) => {
          const lines = wrapText(context, text, width, most, style)
          expect(lines.length).toBeLessThanOrEqual(most)
          for (const line of lines) expect(textWidth(context, line, style)).toBeLessThanOrEqual(width)
          const all = wrapText(context, text, width, 1000, style)
          expect(all.join('').replaceAll(' ', '')).toBe(plainLine(text).replaceAll(' ', ''))
        },
      ),
    )
  })

  test('breaks between words and ends with an ellipsis where lines run out', () => {
    const lines = wrapText(context, 'one two three four five six seven eight nine ten', 100, 2, style)
    expect(lines).toHaveLength(2)
    expect(lines[0]).toBe('one two three')
    expect(lines[1]).toMatch(/^four.*\u2026$/)
    expect(wrapText(context, '', 100, 2, style)).toEqual([])
  })

  test('of plain prose needs no more lines than are set aside for it', () => {
    const words = 'the log of flight B holds no setpoint so its tracking error is not known'.split(' ')
    fc.assert(
      fc.property(
        fc.array(fc.constantFrom(...words), { maxLength: 120 }),
        fc.integer({ min: 400, max: 2000 }),
        (chosen, width) => {
          const text = chosen.join(' ')
          expect(wrapText(context, text, width, 1000, style).length).toBeLessThanOrEqual(
            linesFor(text, width, 1000, 12),
          )
        },
      ),
    )
  })

  test('of a megabyte is shortened without measuring all of it', () => {
    expect(fitMiddle(context, 'x'.repeat(1_000_000), 300, style)).toContain('\u2026')
    expect(wrapText(context, 'x'.repeat(1_000_000), 300, 2, style)).toHaveLength(2)
  })
})
