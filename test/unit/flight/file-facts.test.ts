import { expect, test } from 'vitest'
import { readFileFacts } from '../../../workers/flight/file-facts.ts'

test.each([
  [
    '/home/me/Red five/2024-05-01_17-30 after.csv.gz',
    'Red five',
    '2024-05-01T17:30:00',
    '2024-05-01_17-30 after',
  ],
  ['C:\\logs\\20240501T173005.csv', null, '2024-05-01T17:30:05', '20240501T173005'],
  ['/media/card/1.5.2024 windy.txt', null, '2024-05-01', '1.5.2024 windy'],
  ['/data/2024-05-01/log7.csv', null, '2024-05-01', 'log7'],
  ['/x/Long ranger/log7.csv', 'Long ranger', null, 'log7'],
  ['/x/2023-02-30.csv', null, null, '2023-02-30'],
  ['05-06-07.csv', null, null, '05-06-07'],
])('%s', (path, craft, date, title) => {
  expect(readFileFacts(path, [])).toEqual({ title, craft, date })
})

test('the preamble goes before the path', () => {
  const preamble = [
    { name: 'Craft name', value: ' Blue two ' },
    { name: 'date', value: '2024-06-07 08:09' },
    { name: '__proto__', value: 'x' },
  ]
  expect(readFileFacts('/x/Red five/2024-05-01.csv', preamble)).toEqual({
    title: '2024-05-01',
    craft: 'Blue two',
    date: '2024-06-07T08:09:00',
  })
})
