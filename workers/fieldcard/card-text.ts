import type { FieldCard } from './field-card.ts'

/** The card as plain text for a message or a note on a phone. Every line of a pilot's words stands behind a mark. */
export function cardAsText({ craft, items, left, packPlan, cautions }: FieldCard): string {
  const lines = [`Fly again: ${craft}`, '']
  items.forEach(({ what, howOften, why, lookFor, note, from, stars }, index) => {
    lines.push(`${index + 1}. [ ] ${what}${stars > 0 ? ` (${'★'.repeat(stars)})` : ''}`)
    lines.push(`   How often: ${howOften}. ${why}`)
    for (const hint of lookFor) lines.push(`   Look for: ${hint}`)
    if (note !== '') lines.push(`   Note: ${note}`)
    if (from !== '') lines.push(`   From: ${from}`)
    lines.push('')
  })
  if (items.length === 0) lines.push('Nothing is to be flown again.', '')
  if (left > 0) lines.push(`And ${left} more that are not on this card.`, '')
  lines.push(packPlan, '', 'Before you fly', ...cautions.map((caution) => `- ${caution}`))
  return `${lines.join('\n')}\n`
}
