// A trigger on the screen, held by any number of fingers and keys at once.

// A press that a screen reader makes has no length of its own: chosen here.
const CLICK_MS = 250;

class Trigger {
  /**
   * @param button The element.
   * @param onChange Called with whether it is held, when that changes.
   */
  constructor(button, onChange) {
    this.button = button;
    this.onChange = onChange;
    this.holders = new Set();
    this.lastRealMs = -Infinity;
    this.listenToPointers();
    this.listenToKeys();
    button.addEventListener("contextmenu", (event) => event.preventDefault());
    button.addEventListener("click", () => this.click());
  }

  get held() {
    return this.holders.size > 0;
  }

  hold(holder) {
    this.lastRealMs = performance.now();
    this.change(() => this.holders.add(holder));
  }

  letGo(holder) {
    if (this.holders.has(holder)) {
      this.lastRealMs = performance.now();
      this.change(() => this.holders.delete(holder));
    }
  }

  /** Let go, whoever holds it. */
  drop() {
    this.change(() => this.holders.clear());
  }

  change(act) {
    const before = this.held;
    act();
    if (this.held !== before) {
      this.button.dataset.held = String(this.held);
      this.onChange(this.held);
    }
  }

  listenToPointers() {
    const {button} = this;
    button.addEventListener("pointerdown", (event) => {
      if (event.button === 0) {
        button.setPointerCapture?.(event.pointerId);
        this.hold(`pointer ${event.pointerId}`);
      }
    });
    for (const name of ["pointerup", "pointercancel", "lostpointercapture"]) {
      button.addEventListener(
        name, (event) => this.letGo(`pointer ${event.pointerId}`));
    }
  }

  listenToKeys() {
    const {button} = this;
    button.addEventListener("keydown", (event) => {
      if (event.key !== " " && event.key !== "Enter") {
        return;
      }
      event.preventDefault();
      if (!event.repeat) {
        this.hold(`key ${event.key}`);
      }
    });
    button.addEventListener(
      "keyup", (event) => this.letGo(`key ${event.key}`));
    button.addEventListener("blur", () => {
      this.letGo("key  ");
      this.letGo("key Enter");
    });
  }

  /** A click that no finger and no key made. */
  click() {
    if (performance.now() - this.lastRealMs < 2 * CLICK_MS) {
      return;
    }
    this.hold("click");
    setTimeout(() => this.letGo("click"), CLICK_MS);
  }
}
