// The program, as the page asks it: arguments and files in, its words and files
// out. It runs in a worker, one command after the other.

function bytesIn(base64) {
  return Uint8Array.fromBase64?.(base64) ??
    Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
}

/** Bytes from letters, five for four of them, as compose.py writes them. */
function bytesInLetters(text) {
  const view = new DataView(new ArrayBuffer(text.length / 5 * 4));
  for (let i = 0, word = 0; i < text.length; ++i) {
    const code = text.charCodeAt(i);
    word = 85 * (i % 5 ? word : 0) + (code === 118 ? 60 : code) - 33;
    if (i % 5 === 4) {
      view.setUint32((i - 4) / 5 * 4, word);
    }
  }
  return view.buffer;
}

/** What the page holds packed: texts and bytes by their names. */
async function unpackStream(letters) {
  const stream = new Response(bytesInLetters(letters)).body
    .pipeThrough(new DecompressionStream("gzip"));
  const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
  const end = bytes.indexOf(10);
  const lengths = JSON.parse(new TextDecoder().decode(bytes.subarray(0, end)));
  const parts = {};
  let at = end + 1;
  for (const [name, length] of Object.entries(lengths)) {
    parts[name] = bytes.subarray(at, at + length);
    at += length;
  }
  return parts;
}

// A worker whose command took more bytes is ended, so that the browser has them
// back before the next command takes as many (chosen here).
const MEMORY_MOST = 2e8;

class Engine {
  constructor(parts) {
    this.script = URL.createObjectURL(
      new Blob([parts.worker], {type: "text/javascript"}));
    this.compiled = WebAssembly.compile(parts.program);
    Object.assign(this,
      {inputs: new Map(), waiting: [], running: null, n: 0, nStops: 0});
    this.start();
  }

  start() {
    const worker = new Worker(this.script);
    this.worker = worker;
    this.ready = this.compiled.then((module) => {
      worker.postMessage({module});
      for (const [put, bytes] of this.inputs) {
        worker.postMessage({put, bytes});
      }
    });
    worker.onmessage = ({data}) => this.finish(data);
    worker.onerror = (event) => {
      event.preventDefault();
      this.fail(event.message);
    };
  }

  /** Keep a file for commands that take it by this path. */
  put(path, bytes) {
    this.inputs.set(path, bytes);
    this.ready.then(() => this.worker.postMessage({put: path, bytes}));
  }

  forget(path) {
    this.inputs.delete(path);
    this.worker.postMessage({forget: path});
  }

  /**
   * Run a command.
   *
   * @param args Its words, without the program's name.
   * @param paths The files that it takes, as they were put.
   * @param key A newer command of the same key takes the place of one that
   * still waits, which then gives null.
   * @return A promise of its answer, with {status, out, err, files: [{path,
   * bytes}]}; `ended` if it came to no end of its own; null if it was stopped.
   */
  run(args, paths = [], key = null) {
    return new Promise((resolve) => {
      const job = {id: ++this.n, args, paths, key, resolve};
      const isOld = (one) => key && one.key === key;
      this.waiting.filter(isOld).forEach((one) => one.resolve(null));
      this.waiting = [...this.waiting.filter((one) => !isOld(one)), job];
      this.next();
    });
  }

  next() {
    if (!this.running && this.waiting.length) {
      this.running = this.waiting.shift();
      this.onWork(true);
      const {id, args, paths} = this.running;
      // One that was given up before may have taken this worker along.
      const {worker} = this;
      this.ready.then(() => worker.postMessage({id, args, paths}));
    }
  }

  finish({id, line, result, error}) {
    const job = this.running;
    if (job?.id !== id) {
      return;
    }
    if (line !== undefined) {
      this.onLine(line);
    } else if (error) {
      this.fail(error);
    } else {
      this.end(result, result.memory > MEMORY_MOST);
    }
  }

  /** End what runs, with a new worker for what comes next. */
  end(result, isNew = true) {
    const job = this.running;
    this.running = null;
    this.onWork(false);
    if (isNew) {
      this.worker.terminate();
      this.start();
    }
    job?.resolve(result && answerOf(result));
    this.next();
  }

  fail(message) {
    this.end({status: 1, out: "", files: [], ended: true,
      err: `The program ended with a fault (${message}): the recording may be ` +
        "too long for this browser."});
  }

  /** Give up what runs and what waits. */
  cancel() {
    ++this.nStops;
    this.waiting.forEach((job) => job.resolve(null));
    this.waiting = [];
    if (this.running) {
      this.end(null);
    }
  }
}

// Work that ends sooner is not shown; nor is a pause between two commands.
const SHOWN_AFTER_MS = 500;

/** Show that the program works, and how far it says to be. */
function showWork(engine) {
  let [late, idle] = [null, null];
  const show = (isBusy) => {
    byId("ready").toggleAttribute("data-working", isBusy);
    byId("working").removeAttribute("value");
    byId("working-at").textContent = "";
    byId("working-says").textContent = isBusy ? "Working" : "";
  };
  engine.onWork = (isBusy) => {
    clearTimeout(isBusy ? idle : late);
    if (isBusy) {
      late ??= setTimeout(() => show(true), SHOWN_AFTER_MS);
    } else {
      late = null;
      idle = setTimeout(() => show(false), SHOWN_AFTER_MS / 2);
    }
  };
  engine.onLine = (line) => {
    const [, at, of] = /(\d+) of (\d+)/.exec(line) ?? [];
    if (at) {
      byId("working").max = of;
      byId("working").value = at;
      byId("working-at").textContent = line.trim();
    }
  };
  on("cancel", "click", () => {
    engine.cancel();
    say("Stopped.");
  });
}

/** What a command came to: `reports`, the objects that it printed as JSON, one
 * a line; `complaint`, what it said; `fault`, why it failed, or null. */
function answerOf(result) {
  const reports = result.out.split("\n").filter((line) => line.startsWith("{"))
    .map((line) => JSON.parse(line));
  const complaint = result.err.trim().replaceAll(/\n(?!volleyweave: )/g, " ")
    .replaceAll(/(^|\n)volleyweave: /g, "$1");
  const fault = reports[0]?.error?.message ?? (result.out ? null : complaint);
  return {...result, reports, complaint, fault};
}

/** The files that reports tell of, with their bytes. */
function filesOf(reports, result) {
  return reports.flatMap(({files}) => files ?? []).map((file) =>
    ({...file, bytes: bytesAt(result, file.path)}));
}

/** What a command wrote to a path, or null. */
function bytesAt(result, path) {
  return result.files.find((file) => file.path === path)?.bytes ?? null;
}
