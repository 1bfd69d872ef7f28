// The alternating-bit protocol (Bartlett, Scantlebury and Wilkinson, "A Note on Reliable Full-Duplex Transmission over
// Half-Duplex Links", 1969) over two channels that hold one frame and may lose it. Messages are numbered modulo 3, so that
// one delivered twice, skipped or out of order is seen.
import { ModelBuilder, and, constant, ifThen } from '../../../src/search/model/build.ts';
import type { Model } from '../../../src/search/model/form.ts';

/** Without the bit, every frame is taken for new and every answer for the awaited one. */
export function alternatingBit(withBit = true): Model {
  const m = new ModelBuilder(`alternating bit${withBit ? '' : ', without the bit'}`);
  const sendBit = m.variable('sendBit', 2);
  const sending = m.variable('sending', 3);
  const expectedBit = m.variable('expectedBit', 2);
  const expected = m.variable('expected', 3);
  const frame = m.words('frame', ['none', 'there']);
  const frameBit = m.variable('frameBit', 2);
  const frameMessage = m.variable('frameMessage', 3);
  const answer = m.words('answer', ['none', 'bit 0', 'bit 1']);
  const verdict = m.words('verdict', ['right', 'wrong']);
  const next = m.table('next', [3], [1, 2, 0]);
  const noFrame = [frame.to('none'), frameBit.to(0), frameMessage.to(0)];
  m.command('send', {
    guard: frame.is('none'),
    set: [frame.to('there'), frameBit.to(sendBit), frameMessage.to(sending)],
    labels: [{ name: 'message', value: sending }],
  });
  m.command('lose frame', { guard: frame.is('there'), set: noFrame });
  m.command('lose answer', { guard: answer.is('none').not(), set: [answer.to('none')] });
  const isNew = withBit ? frameBit.eq(expectedBit) : constant(true);
  m.command('deliver', {
    guard: and(frame.is('there'), isNew),
    set: [
      ...noFrame,
      answer.to(frameBit.plus(1)),
      expectedBit.to(withBit ? constant(1).minus(expectedBit) : 0),
      expected.to(next.at(expected)),
      verdict.to(ifThen(frameMessage.eq(expected), verdict, 1)),
    ],
  });
  m.command('answer again', {
    guard: and(frame.is('there'), isNew.not()),
    set: [...noFrame, answer.to(frameBit.plus(1))],
  });
  const awaited = withBit ? answer.eq(sendBit.plus(1)) : constant(true);
  m.command('take answer', {
    guard: and(answer.ne(0), awaited),
    set: [
      answer.to('none'),
      sending.to(next.at(sending)),
      sendBit.to(withBit ? constant(1).minus(sendBit) : 0),
    ],
  });
  m.command('drop answer', { guard: and(answer.ne(0), awaited.not()), set: [answer.to('none')] });
  m.invariant('in order, exactly once', verdict.is('right'));
  return m.build();
}
