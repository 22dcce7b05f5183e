import { parentPort } from 'node:worker_threads'
import { DEMO_COUNT, demoFlights, type DemoMoment } from '../../workers/model/demo.ts'

/** What the demo's thread says of each flight. */
export interface DemoMessage {
  readonly count: number
  readonly order: number
  readonly fileName: string
  readonly text: string
  readonly settingsName: string
  readonly settingsText: string
  readonly craft: string
  readonly title: string
  readonly note: string
  /** What was changed since the flight before, and why; empty for the first. */
  readonly changeNote: string
  readonly expectation: string
  readonly moments: readonly DemoMoment[]
}

if (!parentPort) throw new Error('demo.worker runs as a worker thread')

for (const flight of demoFlights()) {
  const { order, fileName, text, settingsName, settingsText, craft, title, note, changeNote, moments } =
    flight
  parentPort.postMessage({
    count: DEMO_COUNT,
    order,
    fileName,
    text,
    settingsName,
    settingsText,
    craft,
    title,
    changeNote,
    expectation: flight.expectation,
    note: [changeNote, note].filter(Boolean).join(' '),
    moments,
  } satisfies DemoMessage)
}
