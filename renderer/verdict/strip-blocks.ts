import type { Manoeuvre } from '../../workers/manoeuvre/manoeuvre.ts'
import { formatFixed } from '../../workers/ticks/ticks.ts'
import type { Side } from '../compare/comparison.svelte.ts'
import type { Span } from '../compare/view.svelte.ts'

/** A manoeuvre of the strip, on its flight's own clock. */
export interface Placed {
  readonly id: string
  readonly name: string
  /** For readers, and beside the pointer. */
  readonly label: string
  readonly title: string
  readonly start_s: number
  readonly end_s: number
}

/** Neighbours whose buttons are laid out in one task. */
export interface Group {
  readonly key: number
  readonly members: readonly Placed[]
}

/** As many buttons as are laid out in some milliseconds. */
const GROUP = 48

/** What the strip shows of a flight: everything but hovering. */
export function placed(manoeuvres: readonly Manoeuvre[], side: Side): Placed[] {
  return manoeuvres.flatMap(({ id, kind, name, start_s, end_s }) => {
    if (kind === 'hover') return []
    const at = formatFixed(start_s, 1)
    return [
      {
        id,
        name,
        label: `${side.toUpperCase()}: ${name} at ${at} s`,
        title: `${name}, ${at} s`,
        start_s,
        end_s,
      },
    ]
  })
}

export function inGroups(all: readonly Placed[]): Group[] {
  return Array.from({ length: Math.ceil(all.length / GROUP) }, (_, key) => ({
    key,
    members: all.slice(key * GROUP, (key + 1) * GROUP),
  }))
}

/** A span of the common clock on a flight's own, which `shift_s` is added to. */
export const onOwnClock = ({ t0_s, t1_s }: Span, shift_s: number): Span => ({
  t0_s: t0_s - shift_s,
  t1_s: t1_s - shift_s,
})

/**
 * Where a manoeuvre lies in a strip that shows a span of its flight's clock, CSS pixels; null when it is beside it.
 * None is shorter than `least_px`.
 */
export function blockAt(
  { start_s, end_s }: Placed,
  { t0_s, t1_s }: Span,
  width: number,
  least_px: number,
): { left: number; length: number } | null {
  const perSecond_px = width / (t1_s - t0_s)
  const left = (start_s - t0_s) * perSecond_px
  const length = Math.max(least_px, (end_s - start_s) * perSecond_px)
  return left <= width && left + length >= 0 ? { left, length } : null
}
