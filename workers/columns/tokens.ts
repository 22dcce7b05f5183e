import { isUnitWord, speedUnitNamed, unitNamed, voltageUnitNamed } from '../text/unit-words.ts'
import type { UnitId } from '../units/units.ts'
import { isKnownWord } from './vocabulary.ts'

/** A column's name taken apart. */
export interface Tokens {
  /** Words and numbers in order, lower case, without accents; units and brackets are gone. */
  readonly words: readonly string[]
  /** The unit of time, rate or share that the name gives, or null. */
  readonly unit: UnitId | null
  /** The name gives a unit, but of another quantity: degrees, metres, volts. */
  readonly foreignUnit: boolean
  /** The unit of voltage that the name gives, or null; where it is a word of the name, it stays one. */
  readonly voltageUnit: UnitId | null
  /** The unit of a motor's speed that stands in brackets or in the row of units, or null. */
  readonly speedUnit: UnitId | null
}

const BRACKETS = /\(([^()]*)\)|\[([^[\]]*)\]|\{([^{}]*)\}|<([^<>]*)>/g

const RANGE = /^[-+−]?\d+(?:\.\d+)?\s*(?:\.\.+|…|to|bis)\s*[-+−]?\d+(?:\.\d+)?$/

/** Takes a name apart: brackets, unit, camel case, separators, numbers, glued words. */
export function tokensOf(name: string, unitText = ''): Tokens {
  let unit = unitNamed(unitText)
  let voltageUnit = voltageUnitNamed(unitText)
  let speedUnit = speedUnitNamed(unitText)
  let foreignUnit = unit === null && unitText !== '' && isUnitWord(unitText)
  let rest = name.normalize('NFKC').replaceAll(BRACKETS, (_, a, b, c, d) => {
    const inside = String(a ?? b ?? c ?? d ?? '').trim()
    const named = unitNamed(inside)
    if (named) {
      unit ??= named
      return ' '
    }
    // [0..1] and (-100 to 100) are ranges.
    if (RANGE.test(inside)) return ' '
    // [1] and (x) number and name an axis; (g) and (deg) are units.
    if (isUnitWord(inside) && !/^\d+$/.test(inside)) {
      foreignUnit = true
      voltageUnit ??= voltageUnitNamed(inside)
      speedUnit ??= speedUnitNamed(inside)
      return ' '
    }
    return ` ${inside} `
  })
  const last = / in (\S+)\s*$/.exec(rest)
  if (last && RANGE.test(last[1] ?? '')) rest = rest.slice(0, last.index)
  const slash = /^(.*\S)\s*(?:[,/]|\sin\s)\s*([^\s,]+)$/u.exec(rest)
  if (slash && unit === null && unitNamed(slash[2] ?? '')) {
    // "time/ms", "rate in deg/s"; "gyro rad/s" has its slash inside the unit and is caught below.
    const whole = /(?:^|[\s_.])(\S+\/\S+)$/u.exec(rest)
    if (!(whole && unitNamed(whole[1] ?? ''))) {
      unit = unitNamed(slash[2] ?? '')
      rest = slash[1] ?? ''
    }
  }
  const words = split(rest)
  // "mV" has fallen into two words.
  for (const length of [2, 1]) {
    if (words.length > length) voltageUnit ??= voltageUnitNamed(words.slice(-length).join(''))
  }
  for (const length of [3, 2, 1]) {
    if (unit !== null || words.length <= length) continue
    const tail = words.slice(-length)
    const found = unitNamed(tail.join('/').replace('/per/', '/')) ?? unitNamed(tail.join(''))
    if (found) {
      unit = found
      words.splice(-length)
    }
  }
  if (unit === null && words.length > 1 && (words.at(-1) === 'deg' || words.at(-1) === 'rad')) {
    foreignUnit = true
    words.pop()
  }
  // A clock may be called by its unit alone: "ms", "micros".
  if (unit === null && words.length === 1) unit = unitNamed(words[0] ?? '')
  return {
    words: words.flatMap(unglue),
    unit,
    foreignUnit: foreignUnit && unit === null,
    voltageUnit,
    speedUnit,
  }
}

function split(text: string): string[] {
  return text
    .normalize('NFD')
    .replaceAll(/([a-zA-Z])[\u0300-\u036f]+/g, '$1')
    .normalize('NFC')
    .replaceAll(/([\p{Ll}])([\p{Lu}])/gu, '$1 $2')
    .replaceAll(/(\p{Lu}+)(\p{Lu}\p{Ll})/gu, '$1 $2')
    .replaceAll(/([\p{L}°%])(\p{N})/gu, '$1 $2')
    .replaceAll(/(\p{N})([\p{L}°%])/gu, '$1 $2')
    .toLowerCase()
    .split(/[^\p{L}\p{N}°%]+/u)
    .filter((word) => word !== '')
}

/** "gyrox" is "gyro x", "rollrate" is "roll rate": when the whole word falls into known ones. */
function unglue(word: string): string[] {
  if (word.length < 2 || isKnownWord(word) || /^\p{N}+$/u.test(word)) return [word]
  return pieces(word, 4, false) ?? pieces(word, 4, true) ?? [word]
}

/** @param letter whether the last piece may be an axis letter: "rollratesp" must not end in "rates p" */
function pieces(word: string, most: number, letter: boolean): string[] | null {
  if (word === '') return []
  if (most === 0) return null
  if (letter && /^[xyzrpq]$/.test(word)) return [word]
  // Longest first: "setpoint" before "set".
  for (let length = word.length; length >= 2; length -= 1) {
    const head = word.slice(0, length)
    if (!isKnownWord(head)) continue
    const tail = pieces(word.slice(length), most - 1, letter)
    if (tail) return [head, ...tail]
  }
  // "wx": the physicist's omega with an axis.
  return word.length === 2 && word[0] === 'w' && 'xyz'.includes(word[1] ?? '')
    ? ['w', word[1] as string]
    : null
}
