// What can be set, made from the program's own list of options: names, ranges,
// words, defaults and meanings are told by `help --json`.

/** A word of the command line for people: "fire-rate" is "Fire rate". */
function inWords(name) {
  const words = name.replaceAll("-", " ").replace(/\bled/, "LED");
  return words[0].toUpperCase() + words.slice(1);
}

/** What the program says, as a sentence. */
function sentence(text) {
  return `${text[0].toUpperCase()}${text.slice(1)}.`;
}

function element(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (typeof value === "function") {
      made.addEventListener(key, value);
    } else if (value === true || value === false) {
      made.toggleAttribute(key, value);
    } else if (value !== null && value !== undefined) {
      made.setAttribute(key, value);
    }
  }
  made.append(...children);
  return made;
}

const itemsOf = (texts) => texts.map((text) => element("li", {}, text));

/** A button that does something. */
function buttonOf(text, act, attributes = {}) {
  return element("button", {type: "button", click: act, ...attributes}, text);
}

const byId = (id) => document.getElementById(id);

function on(id, type, act) {
  byId(id).addEventListener(type, act);
}

/** Copies of what a list of the page offers. */
function optionsOf(id) {
  return [...byId(id).options].map((one) => one.cloneNode(true));
}

/** Hand on the files that are chosen by the inputs within an element. */
function onFiles(root, act) {
  for (const input of root.querySelectorAll("[type=file]")) {
    input.addEventListener("change", ({target}) => {
      const files = [...target.files];
      target.value = "";
      act(files);
    });
  }
}

/** A range that a hand can slide over. */
function isSlidable({least, most, default: usual}) {
  return least !== null && most !== null && most <= 1000 &&
    /^[\d.]*$/.test(usual ?? "");
}

/** Steps of a slider: a hundred or more, of a round size. */
function stepOf({least, most, whole}) {
  return whole ? 1 : 10 ** Math.floor(Math.log10((most - least) / 100));
}

class Field {
  /**
   * @param option As `help --json` tells it.
   * @param prefix Of the elements' ids.
   * @param onChange Called with its value, null for the default.
   */
  constructor(option, prefix, onChange) {
    Object.assign(this, {option, onChange});
    this.id = `${prefix}-${option.name}`;
    this.input = this.makeInput();
    this.slider = option.value && !option.words.length && isSlidable(option)
      ? this.makeSlider() : null;
    const help = element("p", {class: "quiet", id: `${this.id}-help`},
      option.meaning);
    const words = inWords(option.name);
    this.root = element("div", {class: "field"}, ...option.value ? [
      element("label", {for: this.id}, words),
      element("div", {class: "row"},
        ...this.slider ? [this.slider] : [], this.input),
    ] : [element("label", {}, this.input, words)], help);
  }

  makeInput() {
    const {id, option: {value, words, least}} = this;
    const isChoice = value === "BOARD" || words.length > 0 && least === null;
    return element(isChoice ? "select" : "input", {
      id, "aria-describedby": `${id}-help`, size: isChoice ? null : 10,
      type: isChoice ? null : value ? "text" : "checkbox",
      autocomplete: "off",
      change: ({target}) => this.onChange(
        (value ? target.value.trim() : target.checked) || null),
    }, ...(isChoice ? ["", ...words] : []).map((word) =>
      element("option", {value: word}, word || "as the program chooses")));
  }

  makeSlider() {
    const {least, most} = this.option;
    return element("input", {
      type: "range", min: least, max: most, step: stepOf(this.option),
      "aria-label": `${inWords(this.option.name)}, slider`,
      input: ({target}) => {
        this.input.value = target.value;
        this.onChange(target.value);
      },
    });
  }

  /** Show a value, null for the default. */
  show(value) {
    const {input, slider, option} = this;
    if (option.value === "BOARD") {
      input.replaceChildren(...optionsOf("board"));
    }
    input.checked = value === true;
    input.value = value ?? "";
    input.placeholder = option.default ?? "";
    if (slider) {
      const number = Number.parseFloat(value ?? option.default);
      slider.value = Number.isFinite(number) ? number : option.least;
    }
    this.root.toggleAttribute("data-set", value !== null && value !== undefined);
  }
}

/** Fields for options of some commands, which hold settings of the project. */
class Form {
  /**
   * @param id Of the element for them; a field's own has its name, too.
   * @param groups The options by titles of groups that open, the first at once;
   * those without a title stand by themselves.
   * @param settings Gives what is set.
   */
  constructor(project, {id, root, commands, groups, settings}) {
    this.settings = settings;
    const options = commands.flatMap((command) =>
      project.help.commands.find(({name}) => name === command).options);
    this.fields = Object.entries(groups).flatMap(([title, names], i) => {
      const fields = names.map((wanted) => new Field(
        options.find(({name}) => name === wanted), id,
        (value) => project.set(settings(), wanted, value)));
      const roots = fields.map((field) => field.root);
      byId(root).append(...title ? [element("details",
        {class: "group", open: !i}, element("summary", {}, title), ...roots)]
        : roots);
      return fields;
    });
  }

  show() {
    this.fields.forEach((field) =>
      field.show(this.settings()[field.option.name] ?? null));
  }

  /** Show what is used for a field that is not set. */
  hint(wanted, value) {
    const {input, slider} = this.fields.find(({option}) =>
      option.name === wanted);
    if (input.value === "" && value) {
      input.placeholder = value;
      if (slider) {
        slider.value = value;
      }
    }
  }
}

/** The words of a command line for what is set. */
function wordsOf(settings) {
  return Object.entries(settings)
    .filter(([, value]) => value !== null && value !== undefined)
    .map(([name, value]) => value === true ? `--${name}` : `--${name}=${value}`);
}

/** A word as a shell takes it. */
function quoted(word) {
  return /^[\w@%+=:,./-]+$/.test(word)
    ? word : `'${word.replaceAll("'", "'\\''")}'`;
}

function commandOf(words) {
  return ["volleyweave", ...words].map(quoted).join(" ");
}
