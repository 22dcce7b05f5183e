/**
 * A marked time or span of one flight, or of both flights of a pair. Times are seconds since the first stamp of the
 * flight's log on its mended clock: they hold however the log is cut into flights.
 */
export interface Moment {
  /** Given by whoever marks it, so that a moment that was taken back comes back as the same one. */
  readonly id: string
  readonly places: readonly Place[]
  readonly tags: readonly string[]
  readonly note: string
  /** 0 (none) to 5. */
  readonly stars: number
  /** It is worth flying again; `whatToFly` says what. */
  readonly flyAgain: boolean
  readonly whatToFly: string
}

/** Where a moment is in one flight. */
export interface Place {
  /** The side on which the flight was when it was marked. */
  readonly side: 'a' | 'b'
  /** The log's content: a flight that is taken out and added again finds its moments by it. */
  readonly contentHash: string
  readonly t0_s: number
  /** Null for a time without length. */
  readonly t1_s: number | null
  /** False for a flight that only lay beside the marked one; its time then says how the two lay. */
  readonly marked: boolean
}

/** The tags that are offered; a pilot's own stand beside them. */
export const TAGS = ['bounce-back', 'wash', 'drift', 'twitch', 'noise', 'good', 'other'] as const
export type Tag = (typeof TAGS)[number]

export const MOST_STARS = 5
export const MOST_TAGS = 12
export const LONGEST = { tag: 40, note: 4000, whatToFly: 400 } as const

/** Controls and what breaks lines: a tag is one short line. */
const CONTROLS = /[\p{Cc}\u2028\u2029]+/gu

/**
 * Tags as they are kept: one line each, without empty ones and without the same twice (whatever the case of its
 * letters), the first spelling winning; no more and no longer than allowed.
 */
export function cleanTags(tags: readonly string[]): string[] {
  const kept = new Map<string, string>()
  for (const tag of tags) {
    const line = tag.toWellFormed().normalize('NFC').replace(CONTROLS, ' ').replace(/ {2,}/g, ' ')
    const clean = Array.from(line.trim()).slice(0, LONGEST.tag).join('').trim()
    const key = clean.toLowerCase()
    if (clean !== '' && !kept.has(key)) kept.set(key, clean)
  }
  return [...kept.values()].slice(0, MOST_TAGS)
}

/** A note as it is kept: line breaks stay, other controls go. Nothing in it is ever interpreted. */
export function cleanNote(note: string, longest: number = LONGEST.note): string {
  return note
    .toWellFormed()
    .replaceAll(/\r\n?/g, '\n')
    .replaceAll(/[^\P{Cc}\n\t]+/gu, '')
    .slice(0, longest)
    .toWellFormed()
}

/** What is wrong with a moment's places, in one sentence; null when nothing is. */
export function faultInPlaces(places: readonly Place[]): string | null {
  if (places.length < 1 || places.length > 2) return 'A moment lies in one flight or in two.'
  if (new Set(places.map(({ side }) => side)).size < places.length) return 'A moment has each side once.'
  if (!places.some(({ marked }) => marked)) return 'A moment is marked in at least one flight.'
  if (places.some(({ t0_s, t1_s }) => t1_s !== null && t1_s <= t0_s)) return 'A span ends after it begins.'
  return null
}
