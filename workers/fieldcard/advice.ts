/** What to watch for, by tag. Common practice, no source. */
export const LOOK_FOR = {
  'bounce-back': ['After the stop, stick centred: does it swing back past level, and once or more often?'],
  wash: ['As the throttle opens at the end of a drop: how long does it shake, and does it tip?'],
  drift: ['Hands still on the stick: does it creep or turn, and always the same way?'],
  twitch: ['A single jerk without the stick: note the throttle and where in the move it came.'],
  noise: ['Listen for a rough or rising tone, and feel every motor right after landing.'],
  good: ['This one was good: fly it the same, to see whether it stays so.'],
  other: [],
} as const satisfies Record<string, readonly string[]>
export type LookForTag = keyof typeof LOOK_FOR

/** How the packs are flown (method: two flights are one observation of each tune). */
export const ONE_PACK =
  'Fly A, then B, then A again, each with a pack as full as the others, in the same air: the second A shows what the day alone does.'
