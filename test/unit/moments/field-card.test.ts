/** The field card: how often and why, hostile words, text, picture; nothing of places, paths and serials. */
import { createCanvas } from '@napi-rs/canvas'
import * as fc from 'fast-check'
import { expect, test } from 'vitest'
import { loadPictureFonts } from '../../../electron/report/node-picture.ts'
import { CARD_WIDTH_PX, drawCard, layOutCard } from '../../../workers/fieldcard/card-picture.ts'
import { cardAsText } from '../../../workers/fieldcard/card-text.ts'
import {
  fieldCard,
  howOften,
  MOST_ITEMS,
  type MomentToFly,
  type PairEvidence,
} from '../../../workers/fieldcard/field-card.ts'
import { TAGS } from '../../../workers/moments/moment.ts'

const again = (part: Partial<MomentToFly> = {}): MomentToFly => ({
  whatToFly: 'Single rolls',
  note: '',
  tags: [],
  stars: 0,
  flights: ['Baseline'],
  day: '2026-05-09',
  evidence: null,
  ...part,
})
const said = (measure: string, word: string, pairs = 9, pairsNeeded: number | null = null): PairEvidence => ({
  measure,
  word,
  pairs,
  pairsNeeded,
})

test('how often comes from the pairs that the verdict still needs, the soonest settled first', () => {
  const evidence = [
    said('tracking error on roll', "can't tell", 9, 38),
    said('lag on yaw', "can't tell", 9, 14),
    said('lag on roll', 'better'),
  ]
  expect(howOften(evidence)).toEqual({
    howOften: 'About 14 times in each flight, A and B',
    why: 'That would probably settle lag on yaw (9 pairs so far); tracking error on roll would take about 38.',
  })
})

test('a moment tagged as what a measure measures goes by that measure', () => {
  const evidence = [
    said('lag on yaw', "can't tell", 9, 14),
    said('bounce-back on roll', "can't tell", 9, 21),
    said('bounce-back on pitch', 'better'),
  ]
  const oftenWith = (tags: string[]) => fieldCard('L', [again({ tags, evidence })]).items[0]!.howOften
  expect(oftenWith(['Bounce-back'])).toBe('About 21 times in each flight, A and B')
  expect(oftenWith(['wash'])).toBe('About 14 times in each flight, A and B')
})

test('without a verdict, or where it can’t say, the rule with its reason', () => {
  // Five pairs can reach p = .0625 at best, six 2/64 = .031 (method.md section 6; R's wilcox.test).
  for (const evidence of [null, [said('lag on yaw', "can't tell", 2)]]) {
    const { howOften: often, why } = howOften(evidence)
    expect(often).toBe('8 times in each flight, A and B')
    expect(why).toContain('fewer than 6 like pairs')
  }
  const far = howOften([said('lag on yaw', "can't tell", 1, 300)])
  expect(far.howOften).toContain('8 times')
  expect(far.why).toContain('about 300 pairs (1 pair so far)')
  expect(howOften([said('lag on yaw', 'better')]).why).toContain('settled')
})

test('the most stars come first; what there is no room for is counted', () => {
  const moments = Array.from({ length: 20 }, (_, index) =>
    again({ whatToFly: `move ${index}`, stars: index % 6 }),
  )
  const card = fieldCard('Lantern', moments)
  expect(card.items.map(({ stars }) => stars).slice(0, 4)).toEqual([5, 5, 5, 4])
  expect(card.items[0]?.what).toBe('move 5')
  expect(card.items).toHaveLength(MOST_ITEMS)
  expect(card.left).toBe(8)
  expect(cardAsText(card)).toContain('And 8 more')
})

test('says what to look for by tag, and shows own tags as they are', () => {
  for (const tag of TAGS.filter((one) => one !== 'other')) {
    expect(fieldCard('L', [again({ tags: [tag] })]).items[0]?.lookFor, tag).toHaveLength(1)
  }
  const [item] = fieldCard('L', [again({ tags: ['Wash', 'my own', 'toString'] })]).items
  expect(item?.lookFor[0]).toContain('throttle opens')
  expect(item?.lookFor[1]).toBe('Noted as: my own, toString.')
})

test('what to fly falls back on the note, then on the tags', () => {
  const what = (part: Partial<MomentToFly>) => fieldCard('L', [again({ whatToFly: '', ...part })]).items[0]
  expect(what({ note: 'Rings.' })).toMatchObject({ what: 'Rings.', note: '' })
  expect(what({ tags: ['wash'] })?.what).toBe('The same as here: wash')
  expect(what({})?.what).toBe('The same as here')
})

test('names the cautions: props, hover and hot motors, people, local rules, makers’ limits', () => {
  const text = cardAsText(fieldCard('', []))
  for (const word of ['Props off', 'hover', 'feel the motors', 'people', 'Local rules', 'makers']) {
    expect(text).toContain(word)
  }
  expect(text).toContain('Craft not named')
  expect(text).toContain('Nothing is to be flown again.')
})

test('any words whatever stay text of one line each, behind a mark that no program takes for a formula', () => {
  fc.assert(
    fc.property(
      fc.string({ unit: 'binary', maxLength: 60 }),
      fc.string({ unit: 'binary' }),
      (words, craft) => {
        const hostile = again({ whatToFly: words, note: words, tags: [words], flights: [words] })
        const text = cardAsText(fieldCard(craft, [hostile]))
        expect(text.replaceAll('\n', '')).not.toMatch(/[\p{Cc}\u202a-\u202e\u2066-\u2069]/u)
        expect(text.isWellFormed()).toBe(true)
        for (const line of text.split('\n')) expect(line).not.toMatch(/^[=+@\t]/)
        expect(text.split('\n').length).toBeLessThan(30)
      },
    ),
  )
})

test('the picture has room for every word, in both themes, however long they are', () => {
  loadPictureFonts()
  const card = fieldCard('Lantern '.repeat(40), [
    again({
      whatToFly: 'w'.repeat(400),
      note: 'n '.repeat(2000),
      tags: ['wash', '<b>'.repeat(13)],
      stars: 5,
    }),
    again({ whatToFly: '\u202eback\u202c <img onerror=1>', flights: ['f'.repeat(300)] }),
  ])
  const layout = layOutCard(createCanvas(1, 1).getContext('2d'), card)
  expect(layout.width_px).toBe(CARD_WIDTH_PX)
  const texts = layout.marks.flatMap((mark) => (mark.kind === 'text' ? [mark] : []))
  const context = createCanvas(1, 1).getContext('2d')
  for (const { text, x, size, bold } of texts) {
    context.font = `${bold ? 'bold ' : ''}${size}px "DejaVu Sans"`
    expect(x + context.measureText(text).width, text).toBeLessThanOrEqual(CARD_WIDTH_PX - 50)
  }
  // Lines never stand on each other, and none below the end.
  const baselines = texts.filter(({ text }) => text !== '–').map(({ y }) => y)
  expect(baselines).toEqual([...baselines].sort((one, other) => one - other))
  expect(Math.max(...baselines)).toBeLessThan(layout.height_px - 30)
  expect(texts.map(({ text }) => text).join(' ')).toContain('<img onerror=1>')
  for (const [theme, paper] of [
    ['light', 255],
    ['dark', 0x14],
  ] as const) {
    const canvas = createCanvas(layout.width_px, layout.height_px)
    drawCard(canvas.getContext('2d'), layout, theme)
    const { data } = canvas.getContext('2d').getImageData(0, 0, layout.width_px, layout.height_px)
    expect(data[0]).toBe(paper)
    let inked = 0
    for (let at = 0; at < data.length; at += 4) if (Math.abs(data[at]! - paper) > 100) inked++
    expect(inked).toBeGreaterThan(10_000)
  }
})
