import type { UnitId } from '../../../workers/units/units.ts'

/** One column of a style: its name in the file, the signal behind it, and how that is written. */
export interface StyledColumn {
  readonly name: string
  readonly signal: string
  readonly scale?: number
  readonly offset?: number
  /** Written without a fraction. */
  readonly whole?: boolean
}

/** An invented header. Every signal that is a role (not a decoy) is expected to be found under its own name. */
export interface HeaderStyle {
  readonly label: string
  readonly columns: readonly StyledColumn[]
  readonly unitTexts?: readonly string[]
  /** Units that must be found, by the start of the role. */
  readonly units?: Readonly<Record<string, UnitId>>
  /** Signals whose sign the file has turned. */
  readonly signs?: Readonly<Record<string, -1>>
}

export const RAD = Math.PI / 180
type Write = Omit<StyledColumn, 'name' | 'signal'>

/** Three columns, one per axis, in the order roll, pitch, yaw. */
export function three(
  kind: string,
  names: readonly [string, string, string],
  write: Write = {},
): StyledColumn[] {
  return (['roll', 'pitch', 'yaw'] as const).map((axis, k) => ({
    name: names[k] as string,
    signal: `${kind}.${axis}`,
    ...write,
  }))
}

/** Three names from one pattern, in which # stands for the axis. */
export function pattern(kind: string, text: string, axes: string, write: Write = {}): StyledColumn[] {
  const [a, b, c] = axes.split(' ') as [string, string, string]
  return three(kind, [text.replace('#', a), text.replace('#', b), text.replace('#', c)], write)
}

/** Four motors from one pattern. */
export function motors(text: string, from: number, write: Write = {}, kind = 'motor'): StyledColumn[] {
  return [1, 2, 3, 4].map((k) => ({
    name: text.replace('#', String(k - 1 + from)),
    signal: `${kind}.${k}`,
    ...write,
  }))
}

export const one = (name: string, signal: string, write: Write = {}): StyledColumn => ({
  name,
  signal,
  ...write,
})
export const words = 'roll pitch yaw'
