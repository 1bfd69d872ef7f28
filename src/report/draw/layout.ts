// Where boxes, arrows and labels go: ELK's layered layout, which keeps labels and boxes apart from each other.
import type { ElkExtendedEdge, ElkNode, LayoutOptions } from 'elkjs/lib/elk-api.js';
import { PADDING, type TextBlock } from './box-text.ts';
import type { Arrow, ShownState, View } from './view.ts';

export interface Place {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

export interface PlacedBox extends Place {
  readonly shown: ShownState;
  readonly text: TextBlock;
}

export interface PlacedArrow {
  readonly arrow: Arrow;
  readonly points: readonly { readonly x: number; readonly y: number }[];
  readonly label: (Place & { readonly text: TextBlock }) | null;
}

export interface Layout {
  readonly width: number;
  readonly height: number;
  /** Outer boxes before those in them. */
  readonly boxes: readonly PlacedBox[];
  readonly arrows: readonly PlacedArrow[];
}

const OPTIONS: LayoutOptions = {
  'elk.algorithm': 'layered',
  'elk.direction': 'DOWN',
  'elk.hierarchyHandling': 'INCLUDE_CHILDREN',
  'elk.edgeRouting': 'ORTHOGONAL',
  'elk.json.shapeCoords': 'ROOT',
  'elk.json.edgeCoords': 'ROOT',
  'elk.randomSeed': '1',
  'elk.layered.cycleBreaking.strategy': 'DEPTH_FIRST',
  'elk.layered.nodePlacement.strategy': 'LINEAR_SEGMENTS',
};

const SPACING: LayoutOptions = {
  'elk.spacing.nodeNode': '28',
  'elk.spacing.edgeNode': '16',
  'elk.spacing.edgeEdge': '14',
  'elk.spacing.edgeLabel': '4',
  'elk.spacing.labelLabel': '8',
  'elk.spacing.labelNode': '10',
  'elk.layered.spacing.nodeNodeBetweenLayers': '30',
  'elk.layered.spacing.edgeNodeBetweenLayers': '14',
  'elk.layered.spacing.edgeEdgeBetweenLayers': '12',
};

export async function layoutOf(
  { top, arrows }: View,
  texts: ReadonlyMap<string, TextBlock>,
  labels: ReadonlyMap<Arrow, TextBlock>,
): Promise<Layout> {
  const { default: Elk } = await import('elkjs/lib/elk.bundled.js');
  const edges = arrows.map((arrow, index): ElkExtendedEdge => edgeOf(arrow, index, labels));
  const graph: ElkNode = {
    id: 'root',
    layoutOptions: { ...OPTIONS, ...SPACING },
    children: [nodeOf(top, texts)],
    edges,
  };
  const placed = await new Elk.default().layout(graph);
  const boxes = new Map<string, Place>();
  collect(placed, boxes);
  const shown = [...walk(top)];
  return {
    width: placed.width!,
    height: placed.height!,
    boxes: shown.map((one) => ({
      ...boxes.get(nodeId(one.state.path))!,
      shown: one,
      text: texts.get(one.state.path)!,
    })),
    arrows: arrows.map((arrow, index) => placedArrow(arrow, placed.edges![index]!, labels)),
  };
}

/** ELK keeps ids apart from names: any text will do. */
function nodeId(path: string): string {
  return `state ${path}`;
}

function nodeOf(one: ShownState, texts: ReadonlyMap<string, TextBlock>): ElkNode {
  const { width, height } = texts.get(one.state.path)!;
  const own = { width: width + 2 * PADDING, height: height + 2 * PADDING - 4 };
  const id = nodeId(one.state.path);
  if (one.children.length === 0) return { id, ...own };
  const top = own.height + 6;
  return {
    id,
    layoutOptions: {
      ...OPTIONS,
      ...SPACING,
      'elk.padding': `[top=${top},left=16,bottom=16,right=16]`,
      'elk.nodeSize.constraints': 'MINIMUM_SIZE',
      // Of a node with children ELK turns the smallest size with the direction: height first.
      'elk.nodeSize.minimum': `(${own.height}, ${own.width})`,
    },
    children: one.children.map((child) => nodeOf(child, texts)),
  };
}

function edgeOf(
  arrow: Arrow,
  index: number,
  labels: ReadonlyMap<Arrow, TextBlock>,
): ElkExtendedEdge {
  const { width, height } = labels.get(arrow)!;
  return {
    id: `arrow ${index}`,
    sources: [nodeId(arrow.from)],
    targets: [nodeId(arrow.to)],
    labels: [{ id: `label ${index}`, text: '-', width: width + 6, height: height + 4 }],
  };
}

function* walk(one: ShownState): Generator<ShownState> {
  yield one;
  for (const child of one.children) yield* walk(child);
}

function collect(node: ElkNode, boxes: Map<string, Place>): void {
  const { id, x = 0, y = 0, width = 0, height = 0, children = [] } = node;
  boxes.set(id, { x, y, width, height });
  for (const child of children) collect(child, boxes);
}

function placedArrow(
  arrow: Arrow,
  { sections = [], labels: placed = [] }: ElkExtendedEdge,
  texts: ReadonlyMap<Arrow, TextBlock>,
): PlacedArrow {
  const [label] = placed;
  return {
    arrow,
    points: sections.flatMap(({ startPoint, bendPoints = [], endPoint }) => [
      startPoint,
      ...bendPoints,
      endPoint,
    ]),
    label:
      label === undefined
        ? null
        : {
            x: label.x ?? 0,
            y: label.y ?? 0,
            width: label.width ?? 0,
            height: label.height ?? 0,
            text: texts.get(arrow)!,
          },
  };
}
