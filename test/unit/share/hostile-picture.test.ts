/** Hostile text in the picture: shown as text in SVG, kept as text in PNG's metadata. */
import { expect, test } from 'vitest'
import { drawComparisonPng, drawComparisonSvg } from '../../../electron/report/node-picture.ts'
import { plainLine } from '../../../workers/picture/text.ts'
import { readPngText } from '../../../workers/picture/png-text.ts'
import { smallModel } from '../picture/small-models.ts'
import { HOSTILE } from './hostile.ts'

const hostile = (text: string) => {
  const model = smallModel({ title: text, note: text, headlines: [text] })
  return {
    ...model,
    settings: [{ name: text, a: text, b: null }],
    a: { ...model.a, name: text, craft: text },
  }
}

test.each(HOSTILE)('$what in a picture', async ({ text, letters }) => {
  const svg = await drawComparisonSvg(hostile(text))
  const tags = new Set([...svg.matchAll(/<\/?([a-z]+)/gi)].map(([, tag]) => tag!.toLowerCase()))
  const known = ['svg', 'title', 'desc', 'g', 'path', 'rect', 'text', 'image', 'clippath']
  expect([...tags].filter((tag) => !known.includes(tag))).toEqual([])
  for (const [, attributes = ''] of svg.matchAll(/<[a-z]+(\s[^<>]*)>/gi)) {
    expect(attributes).not.toMatch(/\son[a-z]+=/i)
    for (const [, address] of attributes.matchAll(/href="([^"]*)"/g))
      expect(address).toMatch(/^data:image\/png;/)
  }
  expect(svg).toContain(letters)
  const told = readPngText(await drawComparisonPng(hostile(text)))
  expect(told['Title']).toBe(plainLine(text))
  // Nothing that turns or hides letters, in what is seen and in what is told of the file.
  for (const words of [svg, told['Title'], told['Description']])
    expect(words).not.toMatch(/[\u202a-\u202e\u2066-\u2069]/)
  expect(told['Description']!.split('\n')).toContain(plainLine(text))
})
