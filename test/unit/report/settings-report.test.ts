import * as v from 'valibot'
import { expect, test } from 'vitest'
import { reportSchema } from '../../../electron/report/format.ts'
import { settingsReport, sheetOf } from '../../../electron/report/settings-report.ts'

test('the report tells what differs between the sheets, in whatever writing, and warns', () => {
  const found = settingsReport(
    sheetOf('set idle speed = 20\nset roll P = 45\nset old = 1\nset mode = soft\nwords'),
    sheetOf('{"idle speed": 2000, "roll P": 50, "new": 2, "mode": "soft"}'),
  )
  expect(v.parse(reportSchema.entries.settings, found)).toEqual(found)
  expect(found).toMatchObject({
    changed: [
      { name: 'idle speed', a: '20', b: '2000', difference: 1980, ratio: 100 },
      { name: 'roll P', a: '45', b: '50', difference: 5 },
    ],
    added: [{ name: 'new', value: '2' }],
    removed: [{ name: 'old', value: '1' }],
    unchanged: 1,
    unread: { a: 1, b: 0 },
    things: ['idle speed: 20 → 2000', 'roll P: 45 → 50', 'new = 2 added', 'old removed'],
    warnings: [{ kind: 'jump', level: 'caution', names: ['idle speed'] }, { kind: 'several changes' }],
  })
})
