/** What was lost of a session, and where. */
export interface Loss {
  kind: 'gap' | 'unreadable' | 'encrypted' | 'clock';
  says: string;
}
