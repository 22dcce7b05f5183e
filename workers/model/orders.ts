import type { Axis } from '../flight/axes.ts'
import type { ManoeuvreOrder } from './manoeuvre.ts'

/** Whole turns about an axis, right and left in turn. */
export function turns(axis: Axis, count: number, stick: number): ManoeuvreOrder[] {
  return Array.from({ length: count }, (_, index) => ({
    kind: 'turn',
    axis,
    direction: index % 2 === 0 ? 1 : -1,
    stick,
  }))
}

/** Snaps on an axis, starting right and left in turn. */
export function snaps(axis: Axis, count: number, stick: number): ManoeuvreOrder[] {
  return Array.from({ length: count }, (_, index) => ({
    kind: 'snap',
    axis,
    direction: index % 2 === 0 ? 1 : -1,
    stick,
  }))
}

export function punches(count: number, throttle: number): ManoeuvreOrder[] {
  return Array.from({ length: count }, () => ({ kind: 'punch', throttle }))
}

export function washDives(count: number, drop_s: number, throttle: number): ManoeuvreOrder[] {
  return Array.from({ length: count }, () => ({ kind: 'wash dive', drop_s, throttle }))
}

/** A minute of freestyle in which every kind of manoeuvre is flown often enough to compare. */
export function testFlight(): ManoeuvreOrder[] {
  return [
    { kind: 'take-off' },
    { kind: 'hover', duration_s: 2 },
    ...snaps('roll', 6, 0.5),
    ...snaps('pitch', 6, 0.5),
    ...turns('roll', 6, 0.88),
    ...turns('pitch', 6, 0.88),
    ...snaps('yaw', 2, 0.6),
    { kind: 'sweep', axis: 'roll', stick: 0.3, from_hz: 0.5, to_hz: 7, duration_s: 3 },
    { kind: 'sweep', axis: 'pitch', stick: 0.3, from_hz: 0.5, to_hz: 7, duration_s: 3 },
    ...punches(3, 0.72),
    { kind: 'hover', duration_s: 1 },
    ...washDives(4, 0.85, 0.7),
    { kind: 'hover', duration_s: 1 },
    { kind: 'landing' },
  ]
}

/** Take-off, hovering for a while, more orders, landing. */
export function hovering(duration_s: number, then: readonly ManoeuvreOrder[] = []): ManoeuvreOrder[] {
  return [{ kind: 'take-off' }, { kind: 'hover', duration_s }, ...then, { kind: 'landing' }]
}

/** Stick work that excites the loop over the band that hands reach, one axis at a time, without whole turns. */
export function excitation(): ManoeuvreOrder[] {
  const each = (axis: Axis, size: number): ManoeuvreOrder[] => [
    ...snaps(axis, 6, 0.4 * size),
    { kind: 'sweep', axis, stick: 0.25 * size, from_hz: 0.5, to_hz: 10, duration_s: 6 },
    ...snaps(axis, 4, 0.25 * size),
  ]
  return hovering(3, [...each('roll', 1), ...each('pitch', 1), ...each('yaw', 0.4)])
}
