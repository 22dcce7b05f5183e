/** The three body axes, in the order in which every table, file and picture lists them. */
export const AXES = ['roll', 'pitch', 'yaw'] as const
export type Axis = (typeof AXES)[number]

/** One value per body axis. */
export type PerAxis<T> = Record<Axis, T>

/** Builds one value per axis. */
export function perAxis<T>(make: (axis: Axis) => T): PerAxis<T> {
  return { roll: make('roll'), pitch: make('pitch'), yaw: make('yaw') }
}
