import { plainLine } from '../picture/text.ts'
import type { Block, ShareDocument, TableBlock } from './document.ts'

/** A document as plain text for pasting anywhere: tables as lines of "name: value". Ends with a line feed. */
export function plainText({ title, blocks }: ShareDocument): string {
  const parts = [plainLine(title), ...blocks.flatMap(textOf)]
  return `${parts.filter((part) => part !== '').join('\n\n')}\n`
}

function textOf(block: Block): string[] {
  switch (block.kind) {
    case 'heading':
      return [plainLine(block.text).toUpperCase()]
    case 'paragraph':
      return [plainLine(block.text)]
    case 'list':
      return [block.items.map((item) => `- ${plainLine(item)}`).join('\n')]
    case 'table':
      return [tableText(block)]
    case 'picture':
      return []
  }
}

/** 'Lag, ms; roll: A 33.1, B 30.2, B − A −2.9 (−9 %)': readable in any font, by eye and by ear. */
function tableText({ head, rows }: TableBlock): string {
  return rows
    .map((row) => {
      const [name = '', ...cells] = row.map(plainLine)
      const told = cells.flatMap((cell, index) =>
        cell === '–' || cell === '' ? [] : [`${plainLine(head[index + 1] ?? '')} ${cell}`],
      )
      return `${name}: ${told.join(', ')}`
    })
    .join('\n')
}
