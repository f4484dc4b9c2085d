// The picture of a sound: what was made of it, or the take that it comes from,
// in which a stretch is marked by dragging and a shot chosen.

/** Where the first panel with an axis of time lies, in parts of the picture. */
function timeAxisOf(svg) {
  const panel = /<g [^>]*data-from-s[^>]*>/.exec(svg)?.[0];
  const number = (name) =>
    Number(new RegExp(`${name}="([^"]*)"`).exec(panel)[1]);
  const width = Number(/viewBox="0 0 ([\d.]+)/.exec(svg)?.[1]);
  return panel ? {
    left: number("data-x") / width, width: number("data-width") / width,
    fromS: number("data-from-s"), toS: number("data-to-s")} : null;
}

class TakePicture {
  /** @param onStretch Called with the stretch's two ends in seconds. */
  constructor(onStretch) {
    this.box = byId("picture");
    this.band = element("div", {id: "stretch", hidden: true});
    this.head = element("div", {id: "playhead", hidden: true});
    Object.assign(this, {axis: null, fromS: null});
    this.box.addEventListener("pointerdown", (event) => {
      if (this.axis && this.box.matches(".take") && event.button === 0) {
        event.preventDefault();
        this.box.setPointerCapture(event.pointerId);
        this.fromS = this.timeAt(event);
      }
    });
    this.box.addEventListener("pointermove", (event) => {
      if (this.fromS !== null) {
        this.mark(this.fromS, this.timeAt(event));
      }
    });
    this.box.addEventListener("pointerup", (event) => {
      const ends = [this.fromS, this.timeAt(event)].sort((a, b) => a - b);
      if (this.fromS !== null && ends[1] - ends[0] > 0.005) {
        onStretch(...ends);
      }
      this.fromS = null;
    });
  }

  timeAt(event) {
    const {left, width, fromS, toS} = this.axis ?? {};
    const box = this.box.getBoundingClientRect();
    const part = ((event.clientX - box.left) / box.width - left) / width;
    return fromS + Math.min(1, Math.max(0, part)) * (toS - fromS);
  }

  /** How far from the left a time lies, in parts of the picture. */
  placeOf(atS) {
    const {left, width, fromS, toS} = this.axis;
    return left + width * (atS - fromS) / (toS - fromS);
  }

  /** Show where in the loop it plays; null: nowhere. */
  play(atS) {
    this.head.hidden = atS === null || !this.axis || this.box.matches(".take");
    this.head.style.left = `${100 * (this.axis ? this.placeOf(atS) : 0)}%`;
  }

  mark(oneS, otherS) {
    const [from, to] = [oneS, otherS].map((atS) => this.placeOf(atS))
      .sort((a, b) => a - b);
    this.band.hidden = false;
    this.band.style.left = `${100 * from}%`;
    this.band.style.width = `${100 * (to - from)}%`;
  }

  /**
   * Show a picture.
   *
   * @param bytes The SVG, or null for none.
   * @param isTake Whether a stretch can be marked in it.
   */
  show(bytes, what, isTake) {
    this.axis = null;
    this.band.hidden = true;
    this.head.hidden = true;
    this.box.classList.toggle("take", isTake);
    this.box.replaceChildren();
    if (bytes) {
      const image = pictureOf(bytes, what);
      image.draggable = false;
      this.axis = timeAxisOf(new TextDecoder().decode(bytes));
      this.box.append(image, this.band, this.head);
    }
  }
}

/** The shots of a take as buttons that choose one. */
function showPlaces(places, picked, onPick) {
  byId("places").replaceChildren(...(places ?? []).map(({start_ms: ms}, i) => {
    const pick = String(i + 1);
    return buttonOf(`Shot ${pick} at ${(ms / 1000).toFixed(2)}\u00a0s`,
      () => onPick(pick), {"aria-pressed": String(picked === pick)});
  }));
}
