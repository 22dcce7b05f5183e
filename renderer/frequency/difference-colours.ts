import type { ColourMap } from '../../workers/colour/colour-maps.ts'

/** A's blue over a pale middle to B's vermilion (Okabe & Ito): who is louder has the flight's own colour. */
const ENDS = { a: [0x00, 0x72, 0xb2], middle: [0xf2, 0xf0, 0xea], b: [0xd5, 0x5e, 0x00] } as const

let made: ColourMap | null = null

/** 256 colours from "A louder" to "B louder". */
export function differenceColours(): ColourMap {
  if (made) return made
  made = new Uint8Array(768)
  for (let index = 0; index < 256; index++) {
    const at = index / 127.5 - 1
    const end = at < 0 ? ENDS.a : ENDS.b
    for (let channel = 0; channel < 3; channel++) {
      const middle = ENDS.middle[channel] ?? 0
      made[3 * index + channel] = Math.round(middle + Math.abs(at) * ((end[channel] ?? 0) - middle))
    }
  }
  return made
}
