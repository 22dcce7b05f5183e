import { tokensOf } from '../columns/tokens.ts'
import { axisOfWord } from '../columns/vocabulary.ts'
import type { Axis } from '../flight/axes.ts'

/** A name in one spelling, so that "roll P", "roll_p" and "rollP" meet: words in lower case, apart by one blank. */
export function keyOfName(name: string): string {
  return wordsOfName(name).join(' ')
}

/** The words of a name, camel case, separators and numbers taken apart; no unit is taken off. */
export function wordsOfName(name: string): string[] {
  return name
    .normalize('NFKD')
    .replaceAll(/[\u0300-\u036f]/g, '')
    .normalize('NFC')
    .replaceAll(/(\p{Ll})(\p{Lu})/gu, '$1 $2')
    .replaceAll(/(\p{L})(\p{N})/gu, '$1 $2')
    .replaceAll(/(\p{N})(\p{L})/gu, '$1 $2')
    .toLowerCase()
    .split(/[^\p{L}\p{N}%°]+/u)
    .filter((word) => word !== '')
    .flatMap(apart)
}

/** "pitchd" is "pitch d", "dpitch" is "d pitch": an axis with a gain's letter at either end. */
function apart(word: string): string[] {
  const behind = /^(.{2,}?)(ff|[pidf])$/.exec(word)
  if (axisOfWord(word) !== null) return [word]
  if (behind && axisOfWord(behind[1] as string) !== null) return behind.slice(1)
  const before = /^(ff|[pidf])(.{2,})$/.exec(word)
  return before && axisOfWord(before[2] as string) !== null ? before.slice(1) : [word]
}

/** A setting's name with its axis taken out. */
export interface AxisName {
  readonly axis: Axis
  /** The rest of the words: what is set, the same on every axis. */
  readonly family: string
}

/** The axis that a setting is about, by the words for axes; null when it names none or several. */
export function axisOfName(name: string): AxisName | null {
  // Glued words ("prollgain") fall apart by the vocabulary of columns.
  const words = wordsOfName(name).flatMap((word) => (axisOfWord(word) ? [word] : tokensOf(word).words))
  const named = words.filter((word) => axisOfWord(word) !== null)
  const axes = new Set(named.map(axisOfWord))
  if (axes.size !== 1) return null
  const family = words.filter((word) => axisOfWord(word) === null).join(' ')
  return { axis: [...axes][0] as Axis, family }
}

/** A name without its axis, otherwise as written: "roll I limit" is "I limit"; '' where the axis is glued to the rest. */
export function withoutAxis(name: string): string {
  const rest = name.replaceAll(/[\p{L}\p{N}]+/gu, (word) =>
    axisOfWord(word.toLowerCase()) === null ? word : '\0',
  )
  if (!rest.includes('\0')) return ''
  return rest
    .replaceAll(/\0[^\p{L}\p{N}]*/gu, '')
    .replaceAll(/^[^\p{L}\p{N}]+|[\s._:/-]+$/gu, '')
    .trim()
}

const RECORD =
  /^(?:date|datetime|time|day|recorded|created|start|end|flight|log|file|session|serial|uuid|pilot|place|location|latitude|longitude|number|no|nr|id|craft|name|model|duration|of|the|and|at|\d+)$/

/** Words of a record rather than of a setting ("date", "flight number"): they differ from flight to flight anyway. */
export function isRecordName(name: string): boolean {
  const words = wordsOfName(name)
  return words.length > 0 && words.every((word) => RECORD.test(word))
}

const GAINS: Readonly<Record<'p' | 'i' | 'd' | 'feed-forward', RegExp>> = {
  p: /\b(?:p|kp|proportional|p gain|p term)\b/,
  i: /\b(?:i|ki|integral|i gain|i term)\b/,
  d: /\b(?:d|kd|derivative|differential|d gain|d term)\b/,
  'feed-forward': /\b(?:f|ff|kf|feed forward|feedforward)\b/,
}
export type Gain = keyof typeof GAINS

const NOT_GAIN =
  /\b(?:hz|filter|low pass|lowpass|lp|lpf|notch|cut off|cutoff|corner|limit|limits|max|maximum|min|minimum|order|time|delay|rate hz|windup|quality)\b/

/** Which gain of a controller a setting is, by the letters and words of control engineering; null when it is none. */
export function gainOfName(name: string): Gain | null {
  const key = keyOfName(name)
  if (NOT_GAIN.test(key)) return null
  for (const gain of ['feed-forward', 'd', 'i', 'p'] as const) if (GAINS[gain].test(key)) return gain
  return null
}

/** Whether a setting is called a gain in so many words, of whatever kind. */
export const isGainName = (name: string): boolean =>
  gainOfName(name) !== null || (/\b(?:gain|gains)\b/.test(keyOfName(name)) && !NOT_GAIN.test(keyOfName(name)))
