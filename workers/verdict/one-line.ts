import { AXES, type Axis } from '../flight/axes.ts'
import { FEWEST_PAIRS } from './judge.ts'
import type { MeasureVerdict, OneLineVerdict, VerdictWord } from './comparison.ts'

/** The verdict in one line, from the headline measures alone. */
export function oneLine(measures: readonly MeasureVerdict[]): OneLineVerdict {
  const headline = measures.filter((measure) => measure.headline)
  const better = headline.filter(({ word }) => word === 'better')
  const worse = headline.filter(({ word }) => word === 'worse')
  // Motors that are far from their limits in both flights say nothing about the change.
  const alike = headline.filter(({ word, axis }) => word === 'no clear difference' && axis !== null)
  const parts: string[] = []
  if (better.length > 0) parts.push(`better ${listed(better)}`)
  if (worse.length > 0) parts.push(`worse ${listed(worse)}`)
  if (parts.length > 0) return { word: wordOf(better, worse), sentence: `B is ${parts.join('; ')}.` }
  if (alike.length > 0) {
    const untold = headline.filter(({ word }) => word === "can't tell")
    // It may stand over the whole only where nothing that was flown often enough was left open.
    const open = untold.some(({ from, pairs }) => from !== 'pairs' || pairs >= FEWEST_PAIRS)
    const rest = untold.length > 0 ? ' The rest can’t be told from these two flights.' : ''
    return {
      word: open ? "can't tell" : 'no clear difference',
      sentence: `No clear difference ${listed(alike)}.${rest}`,
    }
  }
  return { word: "can't tell", sentence: 'These two flights can’t tell.' }
}

function wordOf(better: readonly unknown[], worse: readonly unknown[]): VerdictWord | 'better and worse' {
  if (better.length > 0 && worse.length > 0) return 'better and worse'
  return better.length > 0 ? 'better' : 'worse'
}

/** "on roll (lag, bounce-back) and pitch (lag)" */
function listed(measures: readonly MeasureVerdict[]): string {
  const byAxis = [...AXES, null].flatMap((axis: Axis | null) => {
    const own = measures.filter((measure) => measure.axis === axis)
    if (own.length === 0) return []
    const names = own.map(({ label }) => label.replace(/, RMS$/, '').toLowerCase())
    return axis === null ? names : [`${axis} (${names.join(', ')})`]
  })
  return `on ${joined(byAxis)}`.replace(/^on motors/, 'in motors')
}

/** "a", "a and b", "a, b and c" */
export function joined(words: readonly string[]): string {
  if (words.length < 2) return words.join('')
  return `${words.slice(0, -1).join(', ')} and ${words.at(-1)!}`
}
