import type { FlightKey, PictureTheme } from './model.ts'

/** The family that the picture is set in. DejaVu's digits all have one width, so columns of numbers line up. */
export const PICTURE_FONT = 'DejaVu Sans'

/** Glyphs that DejaVu lacks may come from the system; everything else never does. */
export function fontOf(size_px: number, bold = false): string {
  return `${bold ? 'bold ' : ''}${size_px}px "${PICTURE_FONT}", sans-serif`
}

export interface Palette {
  readonly background: string
  readonly pane: string
  readonly grid: string
  readonly zero: string
  readonly frame: string
  readonly text: string
  readonly muted: string
  readonly empty: string
  readonly stripe: string
  /** Colour means the flight. Drawn on `pane` and `background`; contrast is tested. */
  readonly flight: Record<FlightKey, string>
  /** Text upon a surface in the flight's colour. */
  readonly onFlight: Record<FlightKey, string>
}

/**
 * Colours of the flights after Okabe & Ito, "Color Universal Design" (2008): blue and vermilion, chosen to be
 * told apart with every common colour vision. The dark theme's are the same hues, lightened.
 */
export const PALETTES: Record<PictureTheme, Palette> = {
  light: {
    background: '#ffffff',
    pane: '#ffffff',
    grid: '#e4e7eb',
    zero: '#b4bac2',
    frame: '#9aa2ab',
    text: '#15191e',
    muted: '#4c5661',
    empty: '#eceff2',
    stripe: '#f4f6f8',
    flight: { a: '#0072b2', b: '#d55e00' },
    onFlight: { a: '#ffffff', b: '#000000' },
  },
  dark: {
    background: '#14181d',
    pane: '#181d23',
    grid: '#2a3139',
    zero: '#56606b',
    frame: '#5d6772',
    text: '#eef1f4',
    muted: '#b3bcc6',
    empty: '#262c34',
    stripe: '#1b2027',
    flight: { a: '#56b4f0', b: '#ff8a3c' },
    onFlight: { a: '#000000', b: '#000000' },
  },
}
