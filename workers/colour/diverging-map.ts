import type { ColourMap } from './colour-maps.ts'
import type { Rgb } from './paint-levels.ts'

/**
 * A map of 256 colours that runs from `low` over a neutral `middle` to `high`, for differences about zero. Colours are
 * mixed in Oklab (B. Ottosson, "A perceptual color space for image processing", 2020; matrices from memory), with the
 * two ends brought to one lightness, so that equal differences to either side stand out alike, and with lightness
 * changing evenly from the middle outwards.
 */
export function divergingMap(low: Rgb, middle: Rgb, high: Rgb): ColourMap {
  const [from, centre, to] = [toOklab(low), toOklab(middle), toOklab(high)]
  const lightness = (from[0] + to[0]) / 2
  const map = new Uint8Array(768)
  for (let index = 0; index < 256; index++) {
    const at = index / 127.5 - 1
    const end = at < 0 ? from : to
    const share = Math.abs(at)
    const mixed = toRgb([
      centre[0] + share * (lightness - centre[0]),
      centre[1] + share * (end[1] - centre[1]),
      centre[2] + share * (end[2] - centre[2]),
    ])
    map.set(mixed, 3 * index)
  }
  return map
}

type Oklab = readonly [lightness: number, a: number, b: number]

/** Lightness, green to red, blue to yellow of an sRGB colour. */
export function toOklab([red, green, blue]: Rgb): Oklab {
  const [r, g, b] = [linear(red), linear(green), linear(blue)]
  const l = Math.cbrt(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b)
  const m = Math.cbrt(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b)
  const s = Math.cbrt(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b)
  return [
    0.2104542553 * l + 0.793617785 * m - 0.0040720468 * s,
    1.9779984951 * l - 2.428592205 * m + 0.4505937099 * s,
    0.0259040371 * l + 0.7827717662 * m - 0.808675766 * s,
  ]
}

function toRgb([lightness, a, b]: Oklab): [number, number, number] {
  const l = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
  const m = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
  const s = (lightness - 0.0894841775 * a - 1.291485548 * b) ** 3
  return [
    coded(4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s),
    coded(-1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s),
    coded(-0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s),
  ]
}

/** sRGB's coding, IEC 61966-2-1. */
function linear(byte: number): number {
  const share = byte / 255
  return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4
}

function coded(light: number): number {
  const share = light <= 0.0031308 ? 12.92 * light : 1.055 * light ** (1 / 2.4) - 0.055
  return Math.round(255 * Math.min(1, Math.max(0, share)))
}
