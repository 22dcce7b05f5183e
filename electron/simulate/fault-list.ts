import { Problem } from '../../workers/log/problems.ts'
import { NO_FAULTS, type Faults } from '../../workers/model/faults.ts'
import { COLUMN_GROUPS, type ColumnGroup } from '../../workers/model/log-style.ts'

/** Faults that take a number: the field, and the bounds of the number. */
const NUMBERS = {
  jitter: ['jitter', 0, 2],
  lost: ['lost', 0, 0.9],
  burst: ['lostBurst', 1, 10000],
  duplicate: ['duplicate', 0, 0.5],
  backward: ['backward', 0, 0.5],
  quantum: ['quantum_dps', 0, 100],
} as const

const NAMES = [...Object.keys(NUMBERS), 'wrap', 'cut', 'without'].join(', ')

/** Reads a list such as `jitter=0.2,lost=0.01,wrap,without=stick+battery`. Throws a Problem naming a wrong part. */
export function parseFaults(list: string): Faults {
  let faults = NO_FAULTS
  for (const part of list.split(',').filter((one) => one.trim() !== '')) {
    const [name = '', value] = part.trim().split('=', 2)
    if (name === 'wrap' || name === 'cut') faults = { ...faults, [name]: true }
    else if (name === 'without') faults = { ...faults, without: groupsOf(value ?? '') }
    else if (Object.hasOwn(NUMBERS, name)) {
      const [field, low, high] = NUMBERS[name as keyof typeof NUMBERS]
      const number = value === undefined || value.trim() === '' ? Number.NaN : Number(value)
      if (!(number >= low && number <= high))
        throw bad(`fault ${name} is "${value ?? ''}"; it must be a number between ${low} and ${high}.`)
      faults = { ...faults, [field]: number }
    } else throw bad(`There is no fault "${name}"; there are ${NAMES}.`)
  }
  return faults
}

function groupsOf(text: string): ColumnGroup[] {
  return text.split('+').map((word) => {
    const group = COLUMN_GROUPS.find((one) => one === word.trim())
    // A log without time is no log; every reader needs it.
    if (group === undefined || group === 'time')
      throw bad(`fault without is "${word}"; it must be among ${COLUMN_GROUPS.slice(1).join(', ')}.`)
    return group
  })
}

function bad(sentence: string): Problem {
  return new Problem('bad-request', sentence)
}
