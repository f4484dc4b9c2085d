// The program in a worker of its own: each command runs in a new instance, with
// the files that it takes in memory.

const takenIn = new Map();
let module = null;

/** All files below a folder, by their paths. */
function filesBelow(fs, folder) {
  return fs.readdir(folder).filter((name) => !/^\.\.?$/.test(name)).flatMap(
    (name) => {
      const path = `${folder}/${name}`;
      return fs.isDir(fs.stat(path).mode) ? filesBelow(fs, path) : [path];
    });
}

/**
 * Read what is written to a terminal, byte by byte.
 *
 * @param onLine Takes a line, and whether it stays: else it is written over.
 */
function terminalReader(onLine) {
  let bytes = [];
  return (_, byte) => {
    if (byte === 10 || byte === 13) {
      onLine(new TextDecoder().decode(Uint8Array.from(bytes)), byte === 10);
      bytes = [];
    } else {
      bytes.push(byte);
    }
  };
}

async function runProgram(args, paths, onLine) {
  const out = [];
  const err = [];
  const made = await volleyweave({
    instantiateWasm(imports, done) {
      WebAssembly.instantiate(module, imports).then(done);
      return {};
    },
    print: (line) => out.push(line),
  });
  const {FS} = made;
  const {tty} = FS.getStream(2);
  tty.ops = {...tty.ops, put_char: terminalReader((line, stays) => {
    if (stays) {
      err.push(line);
    }
    onLine(line);
  })};
  FS.mkdir("/bench");
  FS.chdir("/bench");
  for (const path of paths) {
    FS.mkdirTree(`/bench/${path}`.replace(/\/[^/]*$/, ""));
    FS.writeFile(path, takenIn.get(path), {canOwn: true});
  }
  const before = new Set(filesBelow(FS, "/bench"));
  let status = 0;
  try {
    status = made.callMain(args);
  } catch (error) {
    if (error.name !== "ExitStatus") {
      throw error;
    }
    status = error.status;
  }
  const files = filesBelow(FS, "/bench").filter((path) => !before.has(path))
    .map((path) => ({
      path: path.slice("/bench/".length), bytes: FS.readFile(path)}));
  return {status, out: out.join("\n"), err: err.join("\n"), files,
    memory: made.HEAP8.length};
}

self.onmessage = async ({data}) => {
  if (data.module) {
    module = data.module;
  } else if (data.put) {
    takenIn.set(data.put, data.bytes);
  } else if (data.forget) {
    takenIn.delete(data.forget);
  } else {
    try {
      const result = await runProgram(data.args, data.paths,
        (line) => self.postMessage({id: data.id, line}));
      self.postMessage({id: data.id, result},
        result.files.map(({bytes}) => bytes.buffer));
    } catch (error) {
      self.postMessage({id: data.id, error: String(error)});
    }
  }
};
