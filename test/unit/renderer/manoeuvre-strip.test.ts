import { describe, expect, test } from 'vitest'
import { blockAt, inGroups, onOwnClock, placed, type Placed } from '../../../renderer/verdict/strip-blocks.ts'
import { cutTo, namesIn, paintBlocks, type Block } from '../../../renderer/verdict/strip-picture.ts'
import type { Manoeuvre } from '../../../workers/manoeuvre/manoeuvre.ts'
import { makePixels, wordOf, type Rgb } from '../../../workers/reduce/paint-spans.ts'

const [WELL, WASH, INK, EDGE]: Rgb[] = [
  [200, 200, 200],
  [0, 0, 250],
  [10, 10, 10],
  [0, 0, 100],
]
const COLOURS = { well: WELL!, wash: WASH!, pressed: INK!, edge: EDGE! }
const LETTERS = new Map([
  [wordOf(WELL!), '.'],
  [wordOf(WASH!), 'w'],
  [wordOf(INK!), 'p'],
  [wordOf(EDGE!), '|'],
])
const block = (left: number, length: number, more: Partial<Block> = {}): Block => ({
  left,
  length,
  name: 'roll left',
  look: 'usual',
  ...more,
})

function rowsOf(blocks: readonly Block[], dashed: boolean, [width, height]: [number, number], ratio = 1) {
  const pixels = makePixels(width, height)
  paintBlocks(pixels, blocks, COLOURS, dashed, ratio)
  return Array.from({ length: height }, (_, y) =>
    [...pixels.words.slice(y * width, (y + 1) * width)].map((word) => LETTERS.get(word) ?? '?').join(''),
  )
}

describe('the painted line', () => {
  test('blocks begin with an edge, lie over those before them and end where the line does', () => {
    expect(rowsOf([block(1, 5), block(4, 4), block(10, 9)], false, [12, 2])).toEqual([
      '.||w||ww..||',
      '.||w||ww..||',
    ])
  })
  test('a block that begins before the line shows its edge only as far as it is in sight', () => {
    expect(rowsOf([block(-1, 4)], false, [6, 1])).toEqual(['|ww...'])
    expect(rowsOf([block(-5, 8)], false, [6, 1])).toEqual(['www...'])
    expect(rowsOf([block(-9, 8), block(7, 2)], false, [6, 1])).toEqual(['......'])
  })
  test('the pressed block is ink, the pointed one as the line; both keep their edge', () => {
    const rows = rowsOf([block(0, 4, { look: 'pressed' }), block(5, 4, { look: 'pointed' })], false, [10, 1])
    expect(rows).toEqual(['||pp.||...'])
  })
  test('a dashed edge is there for six of nine pixels, whatever the screen', () => {
    const dash = (rows: string[]) => rows.map((row) => (row.includes('|') ? '|' : ' ')).join('')
    expect(dash(rowsOf([block(0, 5)], true, [8, 15]))).toBe('||||||   ||||||')
    expect(dash(rowsOf([block(0, 5)], true, [16, 30], 2))).toBe(`${'|'.repeat(12)}      ${'|'.repeat(12)}`)
    expect(rowsOf([block(0, 5)], true, [8, 15])[7]).toBe('wwwww...')
  })
})

describe('names', () => {
  const measure = (text: string) => text.length * 10
  const room = { least_px: 58, pad_px: 3 }
  test('are left out of blocks without room, and cut with an ellipsis where the block ends', () => {
    const names = namesIn([block(0, 58), block(100, 80), block(200, 120)], 400, room, measure)
    expect(names.map(({ text }) => text)).toEqual(['roll l…', 'roll left'])
    expect(names[1]).toMatchObject({ left: 205, right: 320 })
  })
  test('end where a later block begins', () => {
    const [first] = namesIn([block(0, 200), block(40, 20)], 400, room, measure)
    expect(first).toMatchObject({ text: 'roll left', left: 5, right: 40 })
  })
  test('beside the line they are not written', () => {
    expect(namesIn([block(-90, 80), block(410, 90)], 400, room, measure)).toEqual([])
  })
  test('what has no room at all is an ellipsis', () => expect(cutTo('roll', 3, measure)).toBe('…'))
})

describe('blocks', () => {
  const one: Placed = { id: 'x', name: 'x', label: 'x', title: 'x', start_s: 10, end_s: 12 }
  test('lie where their time lies, on their flight’s own clock, and are never shorter than asked', () => {
    expect(blockAt(one, { t0_s: 0, t1_s: 20 }, 200, 7)).toEqual({ left: 100, length: 20 })
    expect(blockAt(one, onOwnClock({ t0_s: 5, t1_s: 25 }, 5), 200, 7)).toEqual({ left: 100, length: 20 })
    expect(blockAt(one, { t0_s: 0, t1_s: 2000 }, 200, 7)).toEqual({ left: 1, length: 7 })
    expect(blockAt(one, { t0_s: 13, t1_s: 20 }, 200, 7)).toBeNull()
    expect(blockAt(one, { t0_s: 0, t1_s: 9 }, 200, 7)).toBeNull()
  })
  test('hovering has none; groups hold all others once, in order', () => {
    const made = Array.from({ length: 100 }, (_, n) => ({
      id: `m${n}`,
      kind: n % 10 === 3 ? 'hover' : 'turn',
      name: 'roll left',
      start_s: n,
      end_s: n + 0.5,
    })) as unknown as Manoeuvre[]
    const all = placed(made, 'b')
    expect(all).toHaveLength(90)
    expect(all[0]).toMatchObject({ label: 'B: roll left at 0.0 s', title: 'roll left, 0.0 s' })
    const groups = inGroups(all)
    expect(groups.length).toBeGreaterThan(1)
    expect(groups.flatMap(({ members }) => members)).toEqual(all)
  })
})
