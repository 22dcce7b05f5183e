import { crc32 as zlibCrc32 } from 'node:zlib'
import { createCanvas, loadImage } from '@napi-rs/canvas'
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { encodePng } from '../../../workers/picture/png-encode.ts'
import { addPngText, crc32, pngChunk, readPngText } from '../../../workers/picture/png-text.ts'

const ascii = (text: string): Uint8Array => new TextEncoder().encode(text)
const plainPng = (): Uint8Array => createCanvas(3, 2).toBuffer('image/png')

describe('the CRC of chunks', () => {
  // Python 3.11: zlib.crc32(b'123456789'), zlib.crc32(b'IEND'); the latter closes every PNG file.
  test('equals known values', () => {
    expect(crc32(ascii('123456789'))).toBe(0xcbf43926)
    expect(crc32(ascii('IEND'))).toBe(0xae426082)
    expect([...plainPng().subarray(-4)]).toEqual([0xae, 0x42, 0x60, 0x82])
  })

  test('equals zlib on any bytes', () => {
    fc.assert(fc.property(fc.uint8Array(), (bytes) => void expect(crc32(bytes)).toBe(zlibCrc32(bytes))))
  })

  // Python 3.11: zlib.crc32(b'iTXtTitle\0\0\0\0\0' + 'Größe ✓'.encode()).
  test('of a text chunk', () => {
    const png = addPngText(plainPng(), { Title: 'Größe ✓' })
    const view = new DataView(png.buffer)
    const length = view.getUint32(33)
    expect(length).toBe('Title'.length + 5 + 11)
    expect(new TextDecoder().decode(png.subarray(37, 41))).toBe('iTXt')
    expect(view.getUint32(41 + length)).toBe(491608921)
  })
})

describe('text in a PNG', () => {
  test('comes back as it went in, whatever it holds', () => {
    const keyword = fc.constantFrom('Title', 'Description', 'Software', 'Comment', 'Übersicht')
    fc.assert(
      fc.property(
        fc.dictionary(keyword, fc.string({ unit: 'grapheme', minLength: 1 }), { noNullPrototype: true }),
        (entries) => {
          const clean = Object.fromEntries(
            Object.entries(entries)
              .map(([key, text]) => [key, text.replaceAll('\0', '').toWellFormed()] as const)
              .filter(([, text]) => text !== ''),
          )
          expect(readPngText(addPngText(plainPng(), entries))).toEqual(clean)
        },
      ),
    )
  })

  test('leaves the picture alone: other readers still read it', async () => {
    const canvas = createCanvas(5, 4)
    const context = canvas.getContext('2d')
    context.fillStyle = '#d55e00'
    context.fillRect(0, 0, 5, 4)
    const image = await loadImage(
      addPngText(canvas.toBuffer('image/png'), { Title: '<x>', Description: 'a\nb' }),
    )
    expect([image.width, image.height]).toEqual([5, 4])
    context.clearRect(0, 0, 5, 4)
    context.drawImage(image, 0, 0)
    expect([...context.getImageData(4, 3, 1, 1).data]).toEqual([213, 94, 0, 255])
  })

  test('a file with text has the plain file within', () => {
    const png = plainPng()
    const added = addPngText(png, { Title: 'T' })
    expect(added.subarray(0, 33)).toEqual(new Uint8Array(png.subarray(0, 33)))
    expect(added.subarray(added.length - (png.length - 33))).toEqual(new Uint8Array(png.subarray(33)))
    expect(addPngText(png, { Title: '' })).toEqual(new Uint8Array(png))
  })

  test('refuses keywords that the format does not allow, and bytes that are no PNG', () => {
    for (const bad of ['', ' Title', 'Title ', 'two  spaces', 'x'.repeat(80), 'line\nbreak', '\u2713']) {
      expect(() => addPngText(plainPng(), { [bad]: 'text' }), bad).toThrow('not a PNG keyword')
    }
    expect(() => addPngText(ascii('not a png at all, but long enough to be one'), { Title: 'x' })).toThrow(
      'not a PNG',
    )
    expect(() => addPngText(new Uint8Array(0), { Title: 'x' })).toThrow('not a PNG: 0 bytes')
    expect(() => pngChunk('toolong', new Uint8Array(0))).toThrow('not a chunk type')
  })

  test('a damaged byte or a cut file is noticed', () => {
    const png = addPngText(plainPng(), { Title: 'Something' })
    const damaged = png.slice()
    damaged[50] = (damaged[50] as number) ^ 1
    expect(() => readPngText(damaged)).toThrow('wrong CRC in the chunk at byte 33')
    expect(() => readPngText(png.subarray(0, png.length - 3))).toThrow('the PNG ends within the chunk')
  })
})

describe('encoding pixels', () => {
  test('an independent reader gets the same pixels', async () => {
    const size = fc.tuple(fc.integer({ min: 1, max: 40 }), fc.integer({ min: 1, max: 40 }), fc.integer())
    await fc.assert(
      fc.asyncProperty(size, async ([width, height, seed]) => {
        const data = Uint8ClampedArray.from({ length: width * height * 4 }, (_, index) =>
          index % 4 === 3 ? 255 : (index * 31 + seed) & 255,
        )
        const image = await loadImage(await encodePng({ width, height, data }))
        const context = createCanvas(width, height).getContext('2d')
        context.drawImage(image, 0, 0)
        expect(context.getImageData(0, 0, width, height).data).toEqual(data)
      }),
      { numRuns: 25 },
    )
  })

  test('refuses pixels that are not width x height', async () => {
    await expect(encodePng({ width: 2, height: 2, data: new Uint8ClampedArray(12) })).rejects.toThrow(
      'pixels are not 2 x 2 x 4: 12',
    )
  })
})
