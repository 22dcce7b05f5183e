import AxeBuilder from '@axe-core/playwright'
import type { Page } from '@playwright/test'

/**
 * What axe-core finds against the rules of accessibility in a window as it stands, one line a rule; best nothing. Of long
 * tables the first lines are looked at: all others are like them, and a thousand take a minute.
 */
export async function accessibilityFaults(page: Page): Promise<string[]> {
  const { violations } = await new AxeBuilder({ page })
    .options({ resultTypes: ['violations'] })
    .exclude('tr:nth-child(n + 9)')
    .analyze()
  return violations.map(
    ({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 150)).join(' | ')}`,
  )
}
