/** How moments are put into words. */
import type { FoundPlace, ListedMoment } from '../../electron/desk/contract/moments.ts'
import { formatFixed } from '../../workers/ticks/ticks.ts'

/** What a moment is called where there is room for few letters. */
export function shortName({ tags, note }: Pick<ListedMoment, 'tags' | 'note'>): string {
  return tags[0] ?? (note.trim().split('\n')[0] || 'moment')
}

/** "12.34 s", "12.3 to 14.0 s": when a moment is, in its flight's own time. */
export function timeInWords({
  t0_s,
  t1_s,
  flightStart_s,
}: Pick<FoundPlace, 't0_s' | 't1_s' | 'flightStart_s'>): string {
  const from = formatFixed(t0_s - flightStart_s, 2)
  return t1_s === null ? `${from} s` : `${from} to ${formatFixed(t1_s - flightStart_s, 2)} s`
}

/** "A and B", "A": where a moment is marked. */
export function sidesInWords(places: readonly Pick<FoundPlace, 'side' | 'marked'>[]): string {
  return places
    .filter(({ marked }) => marked)
    .map(({ side }) => side.toUpperCase())
    .join(' and ')
}

/** "3 of 5 stars", "no stars" */
export function starsInWords(stars: number): string {
  return stars === 0 ? 'no stars' : `${stars} of 5 stars`
}

export const starSigns = (stars: number): string => '★'.repeat(stars)
