import { describe, expect, test } from 'vitest'
import { buildDocument } from '../../../workers/share/build-document.ts'
import { parseSheet } from '../../../workers/settings/parse-sheet.ts'
import { changedSettings } from '../../../workers/share/changed-settings.ts'
import { escapeMarkdown, markdown } from '../../../workers/share/markdown.ts'
import { htmlPage } from '../../../workers/share/page.ts'
import { plainText } from '../../../workers/share/plain-text.ts'
import { privateKind } from '../../../workers/share/private-names.ts'
import { plainLine } from '../../../workers/picture/text.ts'
import { FLYING_CARE, PICTURE_CAUTION } from '../../../workers/picture/model.ts'
import { smallModel } from '../picture/small-models.ts'
import { HOSTILE } from './hostile.ts'

const model = smallModel({
  settings: [{ name: 'roll P', a: '45', b: '52' }],
  headlines: ['B is better on roll (lag).'],
  note: 'Wind from the left',
})

/** The same text in every place that a pilot or a log can fill. */
const everywhere = (text: string) =>
  smallModel({
    title: text,
    note: text,
    headlines: [text],
    settings: [{ name: text, a: text, b: null }],
    a: { ...model.a, name: text, craft: text, date: text },
    notices: [{ level: 'info', text }],
  })

describe('a comparison in words', () => {
  const document = buildDocument(model, null, 'short')

  test('says the same in all three forms, with cautions', async () => {
    const forms = [plainText(document), markdown(document), await htmlPage(document, null)]
    for (const form of forms) {
      for (const words of ['Wind from the left', 'B is better on roll', 'roll P', '52', '−4.1'])
        expect(form).toContain(words)
      for (const care of [...FLYING_CARE, PICTURE_CAUTION]) expect(form).toContain(care)
    }
  })

  test('a plain text line names what each number is', () => {
    expect(plainText(document)).toMatch(/: Axis roll, A 20\.0, B 16\.0, B − A −4\.1 \(−20 %\)/)
  })

  test('Markdown tables have as many cells in every line, whatever is in them', () => {
    for (const { text } of HOSTILE) {
      const lines = markdown(buildDocument(everywhere(text), null, 'short')).split('\n')
      const settings = lines.findIndex((line) => line.startsWith('| Setting |'))
      expect(settings).toBeGreaterThan(0)
      for (const line of lines.slice(settings, settings + 3)) expect(line.split(/(?<!\\)\|/)).toHaveLength(5)
      expect(lines.filter((line) => line.startsWith('# '))).toHaveLength(1)
    }
  })
})

describe.each(HOSTILE)('$what', ({ text, letters }) => {
  const document = buildDocument(everywhere(text), null, 'short')

  test('is text in Markdown', () => {
    const told = markdown(document)
    expect(told).not.toMatch(/<[a-z/!]/i)
    expect(told).not.toMatch(/(?<!\\)\]\(/)
    expect(told).not.toMatch(/https?:\/\/|javascript:|www\./i)
    expect(told.replaceAll('\\', '')).toContain(letters)
  })

  test('is text in the page, which runs nothing and fetches nothing', async () => {
    const page = await htmlPage(document, null)
    const tags = [...page.matchAll(/<\/?([a-z0-9]+)/gi)].map(([, tag]) => tag!.toLowerCase())
    const known = 'html head meta title style body main h1 h2 p ul li div table caption thead tbody tr th td'
    expect([...new Set(tags)].filter((tag) => !known.split(' ').includes(tag))).toEqual([])
    for (const [, attributes] of page.matchAll(/<[a-z0-9]+((?:\s[^<>]*)?)>/gi))
      expect(attributes).not.toMatch(/\son\w+\s*=\s*[^"]/i)
    expect(page).toContain("default-src 'none'")
    expect(page).toMatch(/style-src 'sha256-[A-Za-z0-9+/]{43}='/)
    expect(page).not.toMatch(/<script|unsafe-inline/i)
    expect(page).toContain(letters)
  })

  test('is one line of plain text', () => {
    const told = plainText(document)
    expect(told).toContain(letters)
    expect(told).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u202a-\u202e\u2028]/)
    expect(told.split('\n')).toContain(plainLine(text))
  })
})

test('escaped Markdown reads as the text that it was', () => {
  // CommonMark 0.31, section 2.4: a backslash before punctuation shows the punctuation; entities show their sign.
  const shown = (markdownText: string): string =>
    markdownText
      .replaceAll(/\\([!-/:-@[-`{-~])/g, '$1')
      .replaceAll(/&#(\d+);/g, (_, code) => String.fromCharCode(Number(code)))
      .replaceAll('&lt;', '<')
      .replaceAll('&gt;', '>')
      .replaceAll('&amp;', '&')
  for (const { text } of HOSTILE) {
    if (/&#|\\/.test(text)) continue
    expect(shown(escapeMarkdown(text))).toBe(plainLine(text))
  }
})

describe('settings that differ', () => {
  const changed = (a: string, b: string) => changedSettings(parseSheet(a).settings, parseSheet(b).settings)

  test('added, removed and changed; equal ones are not told', () => {
    expect(changed('p = 1\nd = 2\nf = 3', 'p = 1\nd = 4\ng = 5')).toEqual({
      shown: [
        { name: 'd', a: '2', b: '4' },
        { name: 'g', a: null, b: '5' },
        { name: 'f', a: '3', b: null },
      ],
      hidden: 0,
    })
    expect(changed('', 'p = 1')).toBeNull()
  })

  test('what tells who, where or with what device is counted only', () => {
    const a = 'pilot name = Ann\nserial = 1\nroll P = 4\nhome lat = 1'
    const b = 'pilot name = Bob\nserial = 2\nroll P = 5\nhome lat = 2'
    expect(changed(a, b)).toEqual({ shown: [{ name: 'roll P', a: '4', b: '5' }], hidden: 3 })
  })
})

test('names that may tell place, device, person or day', () => {
  expect(privateKind('GPS_coord[0]')).toBe('position')
  expect(privateKind('homeLatitude')).toBe('position')
  expect(privateKind('device serial')).toBe('serial number')
  expect(privateKind('PilotName')).toBe('name')
  expect(privateKind('UTC time')).toBe('date')
  expect(privateKind('board', '3c:22:fb:01:aa:09')).toBe('serial number')
  expect(privateKind('log', '/home/ann/flights/a.csv')).toBe('path')
  for (const name of [
    'gyro x',
    'motor 1',
    'roll P',
    'throttle',
    'setpoint.yaw',
    'vbat',
    'idle',
    'time (s)',
    'roll rate limit',
  ])
    expect(privateKind(name, '45'), name).toBeNull()
})
