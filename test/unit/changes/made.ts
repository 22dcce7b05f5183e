import type { Change, FlightOfChange, KeptVerdict } from '../../../workers/changes/change.ts'

export const flight = (flightId: number): FlightOfChange => ({
  flightId,
  contentHash: `hash ${flightId}`,
  name: `Flight ${flightId}`,
  flownAt_ms: flightId * 1000,
})

export const verdict = (word: KeptVerdict['word'], rest: Partial<KeptVerdict> = {}): KeptVerdict => ({
  judgedAt_ms: 5000,
  method: { id: 'comparison', version: 1 },
  a: 'Flight 1',
  b: 'Flight 2',
  repeat: null,
  word,
  sentence: `B is ${word}.`,
  reading: [],
  cautions: [],
  pairs: 12,
  measures: [
    {
      key: 'lag.roll',
      label: 'Lag',
      axis: 'roll',
      unit: 'ms',
      digits: 1,
      good: 'lower',
      headline: true,
      a: 30,
      b: 20,
      effect: -10,
      low: -12,
      high: -8,
      coverage: 0.95,
      delta: 2,
      floor: null,
      pairs: 12,
      word: word === 'better and worse' ? 'better' : word,
      reason: 'B is 10.0 ms lower.',
    },
  ],
  ...rest,
})

/** A change from flight `from` to flight `from + 1`. */
export const change = (from: number, rest: Partial<Change> = {}): Change => ({
  id: `change-${from}`,
  craft: 'Lantern',
  madeAt_ms: from * 1000,
  what: `roll P: ${from} → ${from + 1}`,
  settings: [{ name: 'roll P', a: String(from), b: String(from + 1) }],
  why: 'Felt soft.',
  expectation: 'Less lag.',
  note: '',
  before: [flight(from)],
  after: [flight(from + 1)],
  verdict: null,
  earlier: [],
  undone: null,
  takesBack: null,
  best: false,
  ...rest,
})
