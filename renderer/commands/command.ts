/** What a menu entry, the palette and a shortcut all start. */
export interface Command {
  /** Stable name, `place.verb`, under which a shortcut of the pilot's own is kept. */
  readonly id: string
  /** What it does, as a short phrase that starts with a verb. */
  readonly name: string
  /** Heading under which lists show it. */
  readonly group: string
  /** Shortcuts from the start, as `keyOf` writes them: `Z`, `Ctrl+Z`, `Shift+ArrowLeft`. */
  readonly keys: readonly string[]
  /** False while it would do nothing. */
  readonly enabled?: () => boolean
  readonly run: () => void
}

/** The keys that make a press a combination, in the order in which they are written. */
const MODIFIERS = ['Ctrl', 'Alt', 'Shift'] as const

/** A key press, without the rest of the browser's event. */
export interface KeyPress {
  readonly key: string
  readonly ctrlKey: boolean
  readonly metaKey: boolean
  readonly altKey: boolean
  readonly shiftKey: boolean
}

/**
 * How a key press is written: `Ctrl+Shift+Z`. Letters are written large; a sign that needs Shift on some keyboards
 * (`+`, `?`) is written by itself, without Shift. Meta counts as Ctrl, as on machines whose main modifier it is.
 * Null for a modifier pressed alone.
 */
export function keyOf(press: KeyPress): string | null {
  if (['Control', 'Meta', 'Alt', 'Shift', 'AltGraph', 'Dead'].includes(press.key)) return null
  const isSign = press.key.length === 1 && press.key.toLowerCase() === press.key.toUpperCase()
  const held = {
    Ctrl: press.ctrlKey || press.metaKey,
    Alt: press.altKey,
    Shift: press.shiftKey && !(isSign && press.key !== ' '),
  }
  const key = press.key === ' ' ? 'Space' : press.key.length === 1 ? press.key.toUpperCase() : press.key
  return [...MODIFIERS.filter((name) => held[name]), key].join('+')
}
