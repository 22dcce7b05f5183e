import { expect, test } from 'vitest'
import { rehearse, REHEARSAL_PARTS } from '../../../workers/comparison/rehearsal.ts'

test('all parts of the rehearsal can be done, again and again, and no more', () => {
  for (let again = 0; again < 2; again++)
    for (let part = 0; part < REHEARSAL_PARTS; part++) expect(() => rehearse(part)).not.toThrow()
  expect(() => rehearse(REHEARSAL_PARTS)).toThrow('a rehearsal has')
  expect(() => rehearse(-1)).toThrow('a rehearsal has')
})
