// Pieces of the street map's file, each fetched once: the streets and the names over the routes are
// two layers, and both ask for every tile.
import { FetchSource, type RangeResponse, type Source } from "pmtiles";

const KEPT = 96; // pieces; about what two screens at neighbouring zooms show

export class OnceSource implements Source {
  private readonly source: FetchSource;
  private readonly kept = new Map<string, Promise<RangeResponse>>();

  constructor(url: string) {
    this.source = new FetchSource(url);
  }

  getKey(): string {
    return this.source.getKey();
  }

  /** As the interface says, but not to be called off: somebody else may want the same piece. */
  getBytes(offset: number, length: number, _signal?: AbortSignal, etag?: string): Promise<RangeResponse> {
    const key = `${offset} ${length} ${etag ?? ""}`;
    const known = this.kept.get(key);
    if (known) return known;
    const found = this.source.getBytes(offset, length, undefined, etag);
    this.kept.set(key, found);
    found.catch(() => this.kept.delete(key));
    const oldest = this.kept.keys().next();
    if (this.kept.size > KEPT && !oldest.done) this.kept.delete(oldest.value);
    return found;
  }
}
