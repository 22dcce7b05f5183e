import { createCanvas, loadImage } from '@napi-rs/canvas'
import { describe, expect, test } from 'vitest'
import { drawComparisonPng, drawComparisonSvg } from '../../../electron/report/node-picture.ts'
import { PALETTES } from '../../../workers/picture/theme.ts'
import { escapeXml, SvgContext } from '../../../workers/picture/svg-context.ts'
import { smallModel } from './small-models.ts'

const measure = createCanvas(1, 1).getContext('2d')

/** Tags opened and closed in order: a small check that the file is well formed. */
function balanced(svg: string): boolean {
  const open: string[] = []
  for (const [, closing, name, rest] of svg.matchAll(/<(\/?)([a-zA-Z]+)([^>]*)>/g)) {
    if (rest?.endsWith('/')) continue
    if (closing === '/') {
      if (open.pop() !== name) return false
    } else open.push(name as string)
  }
  return open.length === 0
}

describe('the picture as SVG', () => {
  test('is well formed, sized as the PNG, and keeps text as text and curves as curves', async () => {
    const svg = await drawComparisonSvg(smallModel({ scale: 2 }))
    expect(balanced(svg)).toBe(true)
    expect(svg).toMatch(/<svg [^>]*width="1200" height="\d+" viewBox="0 0 2400 \d+"/)
    expect(svg).toContain('>first.csv</text>')
    expect(svg).toContain('<title id="title">What more damping did</title>')
    expect(svg).toContain('stroke-dasharray="5 4"')
    for (const colour of Object.values(PALETTES.light.flight)) expect(svg).toContain(`stroke="${colour}"`)
    // Six spectrograms and the colour bar.
    expect(svg.match(/<image /g)).toHaveLength(7)
  })

  test('hostile text stays text', async () => {
    const hostile = `"><script>alert('x')</script><a href="javascript:x">&\u0001\ufffe`
    const base = smallModel()
    const svg = await drawComparisonSvg(
      smallModel({
        title: hostile,
        note: hostile,
        a: { ...base.a, name: hostile, label: hostile },
        notices: [{ level: 'info', text: hostile }],
        measures: base.measures.map((one) => ({ ...one, label: hostile })),
      }),
    )
    expect(balanced(svg)).toBe(true)
    expect(svg).not.toContain('<script')
    expect(svg).not.toContain('<a ')
    expect(svg).toContain('&lt;script&gt;')
    // Letters that XML 1.0 does not allow.
    expect(svg).not.toMatch(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/)
  })

  test('an SVG reader draws nearly what the canvas draws', async () => {
    const model = smallModel()
    const pixels = async (bytes: Uint8Array): Promise<Uint8ClampedArray> => {
      const image = await loadImage(bytes)
      const context = createCanvas(1200, 800).getContext('2d')
      context.drawImage(image, 0, 0)
      return context.getImageData(0, 0, 1200, 800).data
    }
    // Text is left out of the comparison: readers may set it in another typeface.
    const svg = (await drawComparisonSvg(model)).replace(/<text .*?<\/text>/g, '')
    const one = await pixels(Buffer.from(svg))
    const other = await pixels(await drawComparisonPng(model))
    let different = 0
    for (let at = 0; at < one.length; at += 4) {
      const distance = Math.max(
        ...[0, 1, 2].map((channel) =>
          Math.abs((one[at + channel] as number) - (other[at + channel] as number)),
        ),
      )
      if (distance > 40) different++
    }
    console.log(`pixels that differ between SVG and PNG, all text included: ${different} of 960000`)
    expect(different).toBeLessThan(960_000 * 0.05)
  })
})

describe('the SVG context', () => {
  test('escapes what is markup and replaces what no XML may hold', () => {
    expect(escapeXml(`<a b="c">&'`)).toBe('&lt;a b=&quot;c&quot;&gt;&amp;&#39;')
    expect(escapeXml('a\u0000b\ud800\n')).toBe('a\ufffdb\ufffd\n')
  })

  test('restores state and closes its groups', async () => {
    const context = new SvgContext(measure)
    context.fillStyle = '#112233'
    context.save()
    context.scale(2, 2)
    context.fillStyle = '#445566'
    context.fillRect(0, 0, 1, 1)
    context.restore()
    context.fillRect(0, 0, 1, 1)
    const svg = await context.toSvg({ width_px: 1, height_px: 1, canvasWidth: 1, canvasHeight: 1 }, 't', 'd')
    expect(svg).toContain(
      '<g transform="scale(2)"><rect x="0" y="0" width="1" height="1" fill="#445566"/></g>',
    )
    expect(svg).toContain('</g><rect x="0" y="0" width="1" height="1" fill="#112233"/>')
  })

  test('refuses what it can not write rather than writing something else', async () => {
    const context = new SvgContext(measure)
    expect(() => context.scale(1, 2)).toThrow('only even scaling: 1, 2')
    expect(() => context.lineTo(Number.NaN, 0)).toThrow('not a place in a picture: NaN')
    context.fillStyle = 'url(#x)"'
    expect(() => context.fillRect(0, 0, 1, 1)).toThrow('not a solid colour')
    context.font = '12px "x" onload="y"'
    expect(() => context.fillText('x', 0, 0)).toThrow("a font that can't be written")
    context.save()
    const size = { width_px: 1, height_px: 1, canvasWidth: 1, canvasHeight: 1 }
    await expect(context.toSvg(size, '', '')).rejects.toThrow('1 states were saved and not restored')
  })
})
