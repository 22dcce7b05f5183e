import { MAGMA_BASE64, VIRIDIS_BASE64 } from './tables.ts'

export type ColourMapName = 'viridis' | 'magma' | 'grey'

/** 256 colours: red, green, blue bytes from the lowest level to the highest. Length 768; not to be written to. */
export type ColourMap = Uint8Array

/**
 * Perceptually uniform maps: equal steps of level look like equal steps, lightness only rises, so that
 * they also read right in grey print and with any colour vision.
 */
export const COLOUR_MAPS: Readonly<Record<ColourMapName, ColourMap>> = {
  viridis: fromBase64(VIRIDIS_BASE64),
  magma: fromBase64(MAGMA_BASE64),
  grey: greyMap(),
}

function fromBase64(text: string): ColourMap {
  const map = Uint8Array.from(atob(text), (character) => character.charCodeAt(0))
  if (map.length !== 768) throw new Error(`a colour map has 768 bytes: ${map.length}`)
  return map
}

/** Greys with evenly rising CIE lightness L* from 0 to 100 (CIE 15; sRGB coding by IEC 61966-2-1). */
function greyMap(): ColourMap {
  const map = new Uint8Array(768)
  for (let index = 0; index < 256; index++) {
    const lightness = (index / 255) * 100
    const luminance = lightness > 8 ? ((lightness + 16) / 116) ** 3 : lightness / 903.2962962962963
    const coded = luminance <= 0.0031308 ? 12.92 * luminance : 1.055 * luminance ** (1 / 2.4) - 0.055
    map.fill(Math.round(255 * coded), index * 3, index * 3 + 3)
  }
  return map
}
