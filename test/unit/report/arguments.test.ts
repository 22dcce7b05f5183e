import { expect, test } from 'vitest'
import { readReportArguments } from '../../../electron/report/arguments.ts'

const read = (...more: string[]) => readReportArguments(['a.csv', 'b.csv', '--out', 'x', ...more])
const order = (...more: string[]) => {
  const command = read(...more)
  if (command.what !== 'report') throw new Error('this is help')
  return command.order
}

test('what is on picture and text is chosen by name', () => {
  expect(order().parts).toMatchObject({ axes: ['roll', 'pitch', 'yaw'], motors: false, verdict: true })
  expect(order('--with', 'motors', '--without', 'yaw, spectrograms,verdict').parts).toMatchObject({
    axes: ['roll', 'pitch'],
    motors: true,
    spectrograms: false,
    verdict: false,
    settings: true,
    names: false,
    craft: false,
    dates: false,
  })
})

test.each([
  [['--without', 'roll,pitch,yaw'], /leaves no axis/],
  [['--with', 'names'], /with has "names"; it takes roll, /],
  [['--card'], /--library DIR/],
])('%j is refused in one sentence', (args, sentence) => {
  expect(() => read(...args)).toThrow(sentence)
})

test('the library and the glossary are named', () => {
  expect(order('--library', '/data', '--card', '--glossary', 'mine.txt')).toMatchObject({
    library: '/data',
    card: true,
    glossary: 'mine.txt',
  })
})
