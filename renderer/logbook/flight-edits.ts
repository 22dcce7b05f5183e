/** Changes to a flight of the logbook, each carried out by the desk and told to the undo stack. */
import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import type { Assignment } from '../../workers/columns/roles.ts'
import { undoStack } from '../commands/undo.svelte.ts'
import { call } from '../desk/client.ts'
import { session } from '../session.svelte.ts'

type Words = Partial<Pick<FlightDetail, 'name' | 'craft' | 'note' | 'settings'>>
type Span = FlightDetail['span']

async function carryOut(
  name: string,
  redo: () => Promise<unknown>,
  undo: () => Promise<unknown>,
): Promise<void> {
  await redo()
  undoStack.did({ name, undo: async () => void (await undo()), redo: async () => void (await redo()) })
}

/** Changes a flight's words or settings. @throws Problem as the desk says it */
export function editFlight(before: FlightDetail, change: Words): Promise<void> {
  const names = Object.keys(change) as (keyof Words)[]
  const flightId = before.id
  const old = Object.fromEntries(names.map((name) => [name, before[name]])) as Words
  return carryOut(
    `change ${names.join(', ')} of "${before.name}"`,
    () => call('flight.edit', { flightId, ...change }),
    () => call('flight.edit', { flightId, ...old }),
  )
}

/** Puts the meanings of a log's columns right. @throws Problem as the desk says it */
export function assignColumns(before: FlightDetail, assignments: readonly Assignment[]): Promise<void> {
  const assign = (to: readonly Assignment[]) => () =>
    call('flight.assign', { flightId: before.id, assignments: [...to] })
  return carryOut(
    `change what columns of "${before.name}" mean`,
    assign(assignments),
    assign(before.assignments as readonly Assignment[]),
  )
}

/** Makes a flight another part of its log; null: the whole. Resolves to the flight as it is then. @throws Problem */
export async function cutFlight(before: FlightDetail, span: Span): Promise<FlightDetail> {
  const flightId = before.id
  const cut = (to: Span) => () => call('flight.cut', { flightId, span: to })
  await carryOut(`cut "${before.name}"`, cut(span), cut(before.span))
  return call('flight.get', { flightId })
}

/** Adds a part of a flight's log as a flight of its own. Resolves to that one. @throws Problem */
export async function splitFlight(flightId: number, span: NonNullable<Span>): Promise<FlightDetail> {
  const added = await call('flight.split', { flightId, span })
  undoStack.did({
    name: `add "${added.name}"`,
    undo: async () => void (await call('flight.remove', { flightId: added.id })),
    redo: async () => void (await call('flight.restore', { flightId: added.id })),
  })
  return added
}

/** Takes a flight out of the logbook; undone, it is A or B again if it was. @throws Problem */
export function removeFlight(flightId: number, name: string): Promise<void> {
  const side = session.a === flightId ? 'a' : session.b === flightId ? 'b' : null
  return carryOut(
    `remove "${name}" from the logbook`,
    () => call('flight.remove', { flightId }),
    async () => {
      await call('flight.restore', { flightId })
      if (side && session[side] === null) session.take(side, flightId)
    },
  )
}
