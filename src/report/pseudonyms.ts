// Identifiers of vehicles, contracts and sessions under other names, the same everywhere in one report. The names are
// counted, not computed: a hash of an address with few possible values could be tried out.
import type { Json } from '../trace/observation.ts';

type Kind = 'address' | 'contract' | 'session' | 'vehicle' | 'meter';

/** Fields whose whole content identifies somebody, by the standards' names and those of the trace. */
const IDENTIFYING: Readonly<Record<string, Kind>> = {
  EVCCID: 'address',
  EV_MAC: 'address',
  EVSE_MAC: 'address',
  SOURCE_ADDRESS: 'address',
  FORWARDING_STA: 'address',
  'M-SOUND_TARGET': 'address',
  sender: 'address',
  receiver: 'address',
  vehicleAddress: 'address',
  chargerAddress: 'address',
  address: 'address',
  SessionID: 'session',
  EV_ID: 'vehicle',
  SOURCE_ID: 'vehicle',
  SenderID: 'vehicle',
  EMAID: 'contract',
  eMAID: 'contract',
  ContractID: 'contract',
  MeterID: 'meter',
};

/** Never shown, whoever asks: keys, and what could stand in for them. */
const SECRET = new Set(['NMK', 'NID', 'ContractSignatureEncryptedPrivateKey', 'DHpublickey']);

/** Shown only with `--identities`: certificates name their holder, signatures belong to a certificate. */
const NAMING = new Set([
  'Certificate',
  'OEMProvisioningCert',
  'X509Certificate',
  'X509SubjectName',
  'X509IssuerName',
  'X509SerialNumber',
  'Signature',
  'SignatureValue',
  'SigMeterReading',
]);

const WITHHELD = 'withheld';
const MAC = /\b[0-9a-f]{2}(?::[0-9a-f]{2}){5}\b/gi;
/** An IPv6 address in full or with `::`; of a link-local one the lower half is made from the MAC address. */
const IPV6 = /\b(?:fe80|f[cd][0-9a-f]{2}|[23][0-9a-f]{3}):[0-9a-f:]*:[0-9a-f:]*[0-9a-f](?:%\w+)?/gi;
/** Addresses everybody has: nobody, all, all nodes of IPv6. */
const COMMON = /^(?:0+|f+|3333.*)$/i;
/** What is sought in texts, too: anything shorter, or without a digit, may be a word of theirs. */
const SOUGHT = /^(?=.*\d)[\w:.*-]{6,}$/;

export class Pseudonyms {
  readonly #names = new Map<string, string>();
  readonly #literals = new Map<string, string>();
  readonly #counts = new Map<Kind, number>();
  readonly #show: boolean;
  #pattern: RegExp | null = null;

  /** `show`: identifiers stay as they are (`--identities`); secrets are withheld all the same. */
  constructor(show: boolean) {
    this.#show = show;
  }

  /** A leaf of a message or of another observation, by the way to it. */
  leaf(path: readonly string[], value: Json): Json {
    if (path.some((key) => SECRET.has(key))) return WITHHELD;
    if (this.#show || typeof value !== 'string') return value;
    if (path.some((key) => NAMING.has(key))) return WITHHELD;
    const kind = kindOf(path);
    return kind === undefined ? this.text(value) : this.name(kind, value);
  }

  /** The name of one identifier. */
  name(kind: Kind, value: string): string {
    const bare = value.replace(/[:\s-]/g, '').toUpperCase();
    if (this.#show || bare === '' || COMMON.test(bare)) return value;
    let name = this.#names.get(bare);
    if (name === undefined) {
      const count = (this.#counts.get(kind) ?? 0) + 1;
      this.#counts.set(kind, count);
      name = `${kind}-${count}`;
      this.#names.set(bare, name);
    }
    if (SOUGHT.test(value) && !this.#literals.has(value)) {
      this.#literals.set(value, name);
      this.#pattern = null;
    }
    return name;
  }

  /** A text in which every identifier met so far, and whatever looks like an address, has its other name. */
  text(text: string): string {
    if (this.#show) return text;
    const addresses = text
      .replace(MAC, (found) => this.name('address', found))
      .replace(IPV6, (found) => this.name('address', found));
    if (this.#literals.size === 0) return addresses;
    this.#pattern ??= new RegExp(
      [...this.#literals.keys()]
        .toSorted((a, b) => b.length - a.length)
        .map((one) => one.replace(/[\\^$.*+?()[\]{}|]/g, '\\$&'))
        .join('|'),
      'g',
    );
    return addresses.replace(this.#pattern, (found) => this.#literals.get(found)!);
  }

  /** A deep copy of plain data with every text in it treated. */
  deep<T>(value: T): T {
    return this.#deep(value) as T;
  }

  #deep(value: unknown): unknown {
    if (typeof value === 'string') return this.text(value);
    if (Array.isArray(value)) return value.map((one) => this.#deep(one));
    if (typeof value !== 'object' || value === null) return value;
    return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, this.#deep(one)]));
  }
}

/** By the last name on the way that is none of a list's positions. */
function kindOf(path: readonly string[]): Kind | undefined {
  const key = path.findLast((one) => !/^\d+$/.test(one));
  return key !== undefined && Object.hasOwn(IDENTIFYING, key) ? IDENTIFYING[key] : undefined;
}
