import { AXES, type Axis } from '../flight/axes.ts'
import type { Tokens } from './tokens.ts'
import { axisOfSurface, axisOfWord } from './vocabulary.ts'

/** Columns whose names differ in nothing but the axis. */
export interface AxisFamily {
  /** The words that its members share, in order. */
  readonly base: readonly string[]
  readonly alphabet: Alphabet
  readonly columns: Readonly<Partial<Record<Axis, number>>>
  /** The fourth member of a numbered family of four, which holds the throttle where the first three hold sticks. */
  readonly fourth: number | null
  /** All members carry the name of a control surface. */
  readonly surfaces: boolean
  /** Members named x, y, z stand beside one named yaw: a position with its heading. */
  readonly withHeading: boolean
}

/** How the axes are written: words, or letters and numbers in a known order. */
export type Alphabet = 'words' | 'xyz' | 'rpy' | 'pqr' | '012' | '123'

const LETTERS: readonly (readonly [Alphabet, readonly string[]])[] = [
  ['xyz', ['x', 'y', 'z']],
  ['rpy', ['r', 'p', 'y']],
  ['pqr', ['p', 'q', 'r']],
  ['012', ['0', '1', '2']],
  ['123', ['1', '2', '3']],
]

interface Slot {
  base: string[]
  members: Map<string, number>
}

/** Finds all families among the columns' names. A column may stand in several; nothing is decided here. */
export function findFamilies(tokens: readonly (Tokens | null)[]): AxisFamily[] {
  const slots = new Map<string, Slot>()
  tokens.forEach((token, column) => {
    token?.words.forEach((word, position) => {
      const isAxis = axisOfWord(word) !== null || /^[xyzrpq]$/.test(word) || /^\d$/.test(word)
      if (!isAxis) return
      const base = token.words.filter((_, index) => index !== position)
      // The position is part of the key: "x gyro" and "gyro x" are two styles, not one family.
      const key = JSON.stringify([position, base])
      const slot = slots.get(key) ?? { base, members: new Map<string, number>() }
      if (!slot.members.has(word)) slot.members.set(word, column)
      slots.set(key, slot)
    })
  })
  return [...slots.values()].flatMap(familiesIn)
}

function familiesIn({ base, members }: Slot): AxisFamily[] {
  const families: AxisFamily[] = []
  const byWord: Partial<Record<Axis, number>> = {}
  let surfaces = true
  for (const [word, column] of members) {
    const axis = axisOfWord(word)
    if (axis === null || byWord[axis] !== undefined) continue
    byWord[axis] = column
    if (axisOfSurface(word) === null) surfaces = false
  }
  const common = { base, fourth: null, surfaces: false, withHeading: false }
  if (Object.keys(byWord).length > 0)
    families.push({ ...common, alphabet: 'words', columns: byWord, surfaces })
  for (const [alphabet, letters] of LETTERS) {
    const columns: Partial<Record<Axis, number>> = {}
    letters.forEach((letter, index) => {
      const column = members.get(letter)
      if (column !== undefined) columns[AXES[index] as Axis] = column
    })
    const found = Object.keys(columns).length
    const numbered = alphabet === '012' || alphabet === '123'
    // A lone x or 2 means little; letters of three alphabets overlap, so only whole families count, but for xyz.
    if (found < 3 && !(alphabet === 'xyz' && found > 0 && members.get('r') === undefined)) continue
    // Counted from 0 when there is a 0.
    if (alphabet === '123' && members.has('0')) continue
    const fourth = numbered ? (members.get(alphabet === '012' ? '3' : '4') ?? null) : null
    const beyond = numbered && members.has(alphabet === '012' ? '4' : '5')
    families.push({
      ...common,
      alphabet,
      columns,
      fourth: beyond ? null : fourth,
      withHeading: alphabet === 'xyz' && byWord.yaw !== undefined,
    })
  }
  return families
}
