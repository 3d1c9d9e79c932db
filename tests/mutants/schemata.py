"""Which changes of the program do the tests notice?

One build holds all mutants. In a copy of the tree the body of every function that has mutants becomes

    match crate::chosen_mutant(5) { 17 => { body with a change }, 18 => { another }, _ => { body } }

where 5 is the number of the function, and an environment variable chooses the mutant when a test runs. Numbers are hashes,
so that little is compiled again when something else changed. With the variable that records instead, functions write down
that they were reached: a mutant is shown only to tests that reach its function.
First come those that caught others in the same function, then the quick ones of each program in one go and the others by
what they caught in the group for their time, until one fails. Only what is asked for is changed in the copy, so that it is built in minutes and the rest stays fast.

Not built: changes of constants, of functions that return `impl Trait`, and what does not compile. Examples of the
documentation are tests here too. Tests left out can only notice more.
"""

import argparse, collections, concurrent.futures, hashlib, json, math, os, pathlib, random, re, resource, shutil, signal, subprocess, sys, threading, time

GROUPS = ["stats", "physics", "simulate", "decide", "calibrate"]
SEED = 20260
LEFT_OUT = {
    *("architecture", "supply"),  # about the source
    *("browser", "pixels"),  # need more than Rust
    *("load", "trouble", "fuzz"),  # about what breaks, not about what is right
}
# Holds every bit, so it notices nearly everything and says little; it is asked last.
LAST = "golden"
MEMORY = 6 << 30
# Functions have numbers below this.
FUNCTIONS = 1 << 20
# A test that takes longer than this without a change, s of the processor, is left out.
LONGEST = 10
# Tests of one program that take less than this each are tried in one go.
QUICK = 1.0

ROOT = pathlib.Path(__file__).resolve().parents[2]
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")).resolve()
WORK = TARGET / "mutants"
TREE = WORK / "tree"
# What became of each mutant so far, by a hash of its name and its function.
KEPT = ROOT / "tests/mutants/known.txt"

CHOICE = """
/// The mutant chosen by the environment; on the way, writes down that a function was reached.
pub fn chosen_mutant(function: usize) -> u32 {
    use std::io::Write;
    use std::sync::OnceLock;
    use std::sync::atomic::{AtomicBool, AtomicU32, Ordering::Relaxed};
    static CHOSEN: AtomicU32 = AtomicU32::new(u32::MAX);
    static REACHED: [AtomicBool; FUNCTIONS] = [const { AtomicBool::new(false) }; FUNCTIONS];
    let chosen = CHOSEN.load(Relaxed);
    if chosen != u32::MAX {
        return chosen;
    }
    static LIST: OnceLock<Option<std::ffi::OsString>> = OnceLock::new();
    if let Some(file) = LIST.get_or_init(|| std::env::var_os("MUTANTS_REACHED")) {
        if !REACHED[function].load(Relaxed) && !REACHED[function].swap(true, Relaxed) {
            let mut file = std::fs::OpenOptions::new().create(true).append(true).open(file).unwrap();
            file.write_all(format!("{function}\\n").as_bytes()).unwrap();
        }
        return 0;
    }
    let chosen = std::env::var("MUTANT").map_or(0, |m| m.parse().unwrap());
    CHOSEN.store(chosen, Relaxed);
    chosen
}
"""


def listed(groups):
    """All mutants of some groups as cargo-mutants lists them, numbered from 1."""
    only = [word for group in groups for word in ("-f", f"src/{group}/**")]
    program = shutil.which("cargo-mutants") or sys.exit("cargo-mutants is missing: cargo install cargo-mutants")
    out = subprocess.run([program, "mutants", "--list", "--json", *only], cwd=ROOT, check=True, capture_output=True)
    mutants = json.loads(out.stdout)
    texts, times = {}, collections.Counter()
    used = {0}
    for m in mutants:
        m["group"] = m["file"].split("/")[1]
        lines = texts.setdefault(m["file"], (ROOT / m["file"]).read_text().split("\n"))
        m["key"] = key(m, lines, times)
        m["number"] = number(m["key"], 1 << 31, used)
    return mutants


def digest(text):
    return hashlib.sha256(text.encode()).hexdigest()


def number(text, end, used):
    """A number below `end` for a text: the same every time, but where it is used already."""
    number = int(digest(text)[:12], 16) % end
    while number in used:
        number = (number + 1) % end
    used.add(number)
    return number


def key(m, lines, times):
    """Names a mutant by the text of its function, so that what is known of it holds while that stands, wherever it moves."""
    span = m["function"]["span"] if m["function"] else m["span"]
    text = "\n".join(lines)[offset(lines, span["start"]) : offset(lines, span["end"])]
    change = re.sub(r"^([^:]*):\d+:\d+:", r"\1:", name_of(m)) + " @" + digest(text)[:8]
    times[change] += 1
    return f"{change} {times[change]}"


def offset(lines, place):
    return sum(len(line) + 1 for line in lines[: place["line"] - 1]) + place["column"] - 1


def body_of(text, start):
    """Where the body of the function at `start` begins: the first brace outside brackets, comments and attributes."""
    depth, i = 0, start
    while True:
        if text.startswith("//", i):
            i = text.index("\n", i)
        elif text[i] in "([":
            depth += 1
        elif text[i] in ")]":
            depth -= 1
        elif text[i] == "{" and depth == 0:
            return i
        i += 1


def rewritten(text, mutants, dropped, functions):
    """A file with all its mutants, and for each the lines on which it stands."""
    lines = text.split("\n")
    span = lambda s: (offset(lines, s["start"]), offset(lines, s["end"]))
    by_function = collections.defaultdict(list)
    spans = {span(m["function"]["span"]) for m in mutants if m["function"]}
    for m in mutants:
        a, b = span(m["span"])
        # A function inside another is changed with the outer one.
        around = [s for s in spans if s[0] <= a and b <= s[1]]
        m["function_number"] = None
        if around and m["number"] not in dropped:
            outer = min(around)
            if "-> impl " in text[outer[0] : body_of(text, outer[0])]:
                dropped[m["number"]] = "not tried"
            else:
                by_function[outer].append((a, b, m))
        elif not around:
            dropped[m["number"]] = "not tried"
    out, done, places = "", 0, []
    for (start, end), inside in sorted(by_function.items()):
        open_, close = body_of(text, start), end - 1
        function = number(inside[0][2]["file"] + text[start:open_], FUNCTIONS, functions)
        out += text[done:open_] + "{ match crate::chosen_mutant(%d) {\n" % function
        for a, b, m in inside:
            m["function_number"] = function
            first = out.count("\n") + 1
            new = m["replacement"]
            if m["genre"] == "StructField" and text[b:].lstrip().startswith(","):
                b = text.index(",", b) + 1
            out += "%d => {%s %s %s}\n" % (m["number"], text[open_ + 1 : a], new, text[b:close])
            places.append((first, out.count("\n"), m["number"]))
        out += "_ => {%s}\n}}" % text[open_ + 1 : close]
        done = end
    return out + text[done:], places


def examples():
    """The examples of the documentation as one file of tests."""
    tests = []
    for file in [ROOT / "src/lib.rs"] + [f for g in GROUPS for f in sorted((ROOT / "src" / g).glob("**/*.rs"))]:
        fence, block = None, []
        for number, line in enumerate(file.read_text().split("\n"), 1):
            words = re.match(r"\s*//[/!] ?(.*)", line)
            if not words:
                continue
            words = words.group(1)
            if words.startswith("```") and fence is None:
                fence, block = words, []
            elif words.startswith("```"):
                if fence == "```":  # Otherwise it is no code but, say, a formula.
                    name = f"{file.parent.name}_{file.stem}_{number}"
                    code = "\n".join(block)
                    # One that ends in `Ok` may fail on the way.
                    code = "(|| {\n%s\n})().unwrap();" % code if "\nOk::<" in code else code
                    tests.append("#[test]\nfn %s() {\n%s\n}\n" % (name, code))
                fence = None
            else:
                block.append(re.sub(r"^# ?", "", words))
    return "\n".join(tests)


def write_tree(mutants, dropped):
    """Writes the copy; returns for each file the lines of its mutants."""
    tracked = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True, text=True).stdout
    for name in filter(None, tracked.split("\0")):
        changed = name == "Cargo.toml" or name.startswith("src/") and name.endswith(".rs")
        if not changed and not name.startswith("plots/") and (ROOT / name).is_file():
            put(TREE / name, (ROOT / name).read_bytes())
    manifest = (ROOT / "Cargo.toml").read_text()
    # A mutant may be certain to panic: that is for a test to notice.
    manifest = manifest.replace("[lints.rust]\n", '[lints.rust]\nunconditional_panic = "allow"\narithmetic_overflow = "allow"\n')
    put(TREE / "Cargo.toml", manifest + "\n[profile.dev.package.headwater]\ndebug = false\n[workspace]\n")
    put(TREE / "tests/examples.rs", examples())
    by_file = collections.defaultdict(list)
    for m in mutants:
        by_file[m["file"]].append(m)
    functions, places = set(), {}
    for file in sorted((ROOT / "src").glob("**/*.rs")):
        name = str(file.relative_to(ROOT))
        text = file.read_text()
        if name in by_file:
            text, places[name] = rewritten(text, by_file[name], dropped, functions)
        if name == "src/lib.rs":
            text += CHOICE.replace("FUNCTIONS", str(FUNCTIONS))
        # Many bodies inlined into many bodies would never be done compiling. The lines stay where they are.
        put(TREE / name, re.sub(r"\n *#\[inline\(always\)\]\n", "\n\n", text))
    return places


def put(file, content):
    """Writes what is new, and leaves alone what is not, so that little is compiled again."""
    content = content.encode() if isinstance(content, str) else content
    if not file.exists() or file.read_bytes() != content:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)


def cargo(*words):
    """Runs cargo in the copy; returns its messages."""
    command = ["cargo", *words, "--locked", "--message-format", "json"]
    env = {**os.environ, "CARGO_TARGET_DIR": str(TARGET)}
    out = subprocess.run(command, cwd=TREE, env=env, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    return [json.loads(line) for line in out.stdout.splitlines() if line.startswith(b"{")]


def written(span):
    """Where a place that a macro made stands in the source."""
    while span.get("expansion"):
        span = span["expansion"]["span"]
    return span


def build(mutants):
    """Builds the copy with every mutant that compiles; returns the tests' programs, and what was dropped and why."""
    known = WORK / "dropped.json"
    names = {m["key"]: m["number"] for m in mutants}
    dropped = {}
    if known.exists():
        dropped = {names[n]: why for n, why in json.loads(known.read_text()).items() if n in names}
    while True:
        places = write_tree(mutants, dropped)
        messages = cargo("check", "--lib")
        errors = [m["message"] for m in messages if m.get("reason") == "compiler-message"]
        errors = [e for e in errors if e["level"] == "error"]
        found = {
            number
            for span in (written(s) for e in errors for s in e["spans"] if s["is_primary"])
            for first, last, number in places.get(span["file_name"], [])
            if first <= span["line_start"] <= last
        }
        if errors and not found:
            sys.exit("what is not mutated does not compile:\n" + "\n".join(e["rendered"] for e in errors[:5]))
        dropped.update((n, "unviable") for n in found)
        kept = json.loads(known.read_text()) if known.exists() else {}
        known.write_text(json.dumps(kept | {m["key"]: dropped[m["number"]] for m in mutants if m["number"] in dropped}))
        print(f"{len(found)} more do not compile", file=sys.stderr, flush=True)
        if not errors:
            break
    tests = sorted(f.stem for f in (TREE / "tests").glob("*.rs") if f.stem not in LEFT_OUT)
    programs = {}
    for m in cargo("test", "--no-run", "--lib", *(word for test in tests for word in ("--test", test))):
        if m.get("reason") == "compiler-message" and m["message"]["level"] == "error":
            sys.exit("a test does not compile:\n" + m["message"]["rendered"])
        if m.get("executable") and m["profile"]["test"]:
            programs[m["target"]["name"]] = m["executable"]
    if not programs:
        sys.exit("no test was built: try cargo test --no-run in " + str(TREE))
    return programs, dropped


def name_of(m):
    return m["name"].replace("\n", " ")


def tried(program, tests, limit, **env):
    """Runs tests of one program: whether they passed (None where it took too long), which failed first, and the time of
    the processor, s."""
    fixed = {"CARGO_MANIFEST_DIR": str(TREE), "INSTA_UPDATE": "no", "PROPTEST_RNG_SEED": "1", "RAYON_NUM_THREADS": "1"}

    def limits():
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (math.ceil(limit), math.ceil(limit)))

    child = subprocess.Popen(
        [program, "--exact", *tests, "--test-threads", "1"],
        cwd=TREE,
        env={**os.environ, **fixed, **env},
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
        preexec_fn=limits,
    )
    late = threading.Timer(20 * limit, lambda: os.killpg(child.pid, signal.SIGKILL))
    late.start()
    failed = None
    for line in child.stdout:
        failed = re.match(rb"test (\S+)(?: - should panic)? \.\.\. FAILED", line)
        if failed:
            # One is enough.
            os.killpg(child.pid, signal.SIGKILL)
            break
    _, status, used = os.wait4(child.pid, 0)
    late.cancel()
    child.stdout.close()
    child.returncode = os.waitstatus_to_exitcode(status)
    passed = {0: True, -signal.SIGXCPU: None, -signal.SIGKILL: None}.get(child.returncode, False)
    return False if failed else passed, failed[1].decode() if failed else tests[0], used.ru_utime + used.ru_stime


def baseline(programs, workers, known):
    """Every test once without a change: its time, and the functions it reaches."""
    stamp = {name: hashlib.blake2b(pathlib.Path(path).read_bytes()).hexdigest()[:16] for name, path in programs.items()}
    tests = json.loads(known.read_text()) if known.exists() else []
    tests = [t for t in tests if t["stamp"] == stamp.get(t["program"])]
    done = {(t["program"], t["test"]) for t in tests}

    def one(name, test):
        reached = WORK / f"reached-{os.getpid()}-{threading.get_ident()}"
        reached.unlink(missing_ok=True)
        passed, _, seconds = tried(programs[name], [test], LONGEST, MUTANTS_REACHED=str(reached))
        functions = sorted(set(map(int, reached.read_text().split()))) if reached.exists() else []
        reached.unlink(missing_ok=True)
        if not passed:
            why = "takes long" if passed is None else "fails"
            print(f"left out, as it {why} without a change: {name} {test}", file=sys.stderr, flush=True)
        return {"program": name, "stamp": stamp[name], "test": test, "seconds": seconds, "passed": passed, "functions": functions}

    left = []
    for name, path in sorted(programs.items()):
        out = subprocess.run([path, "--list", "--format", "terse"], cwd=TREE, capture_output=True, text=True)
        named = [line.removesuffix(": test") for line in out.stdout.splitlines() if line.endswith(": test")]
        left += [(name, test) for test in named if (name, test) not in done]
    for test in workers.map(lambda t: one(*t), left):
        tests.append(test)
        known.write_text(json.dumps(tests))
    return [t for t in tests if t["passed"]]


class Log:
    """What became of each mutant, a line each; the last line counts. What is kept beside this script comes first."""

    def __init__(self, group, mutants):
        self.file = WORK / f"{group}.tsv"
        self.known = {}
        kept = dict(line.split(" ", 2)[1:] for line in kept_lines())
        for key in (m["key"] for m in mutants if m["group"] == group):
            if short(key) in kept:
                outcome, _, by = kept[short(key)].partition(", ")
                self.known[key] = (outcome, by or "-")
        if self.file.exists():
            for line in self.file.read_text().splitlines():
                name, outcome, by, seconds = line.split("\t")
                self.known[name] = (outcome, by)

    def add(self, name, outcome, by, seconds):
        self.known[name] = (outcome, by)
        with self.file.open("a") as out:
            out.write(f"{name}\t{outcome}\t{by}\t{seconds:.1f}\n")


def goes(tests, caught_by, m):
    """In which order tests are tried: lists of tests of one program that are tried in one go."""
    in_function = lambda t: caught_by[m["function_number"], t["program"], t["test"]]
    in_group = lambda t: caught_by[m["group"], t["program"], t["test"]]
    first = sorted(filter(in_function, tests), key=lambda t: t["seconds"] / in_function(t))[:4]
    rest = [t for t in tests if t not in first]
    quick = collections.defaultdict(list)
    for t in rest:
        if t["seconds"] < QUICK and t["program"] != LAST:
            quick[t["program"]].append(t)
    rest = [*quick.values(), *([t] for t in rest if t["seconds"] >= QUICK or t["program"] == LAST)]
    # What takes little and caught much in the group comes early.
    cost = lambda go: (go[0]["program"] == LAST, sum(t["seconds"] for t in go) / (1 + sum(map(in_group, go))))
    return sorted([[t] for t in first], key=cost) + sorted(rest, key=cost)


def run(mutants, left, tests, programs, logs, budget, until, workers):
    """Shows each mutant that is left to the tests that reach it, until one fails."""
    caught_by = collections.Counter()
    for m in mutants:
        outcome, by = logs[m["group"]].known.get(m["key"], ("", ""))
        if outcome in ("caught", "by time", "golden") and " " in by:
            for where in (m["function_number"], m["group"]):
                caught_by[where, *by.split(" ", 1)] += 1

    def one(m):
        if time.time() > until:
            return
        number, function = m["number"], m["function_number"]
        able = [t for t in tests if function in t["functions"]]
        spent, outcome, by = 0.0, "survived", "-" if able else "no test gets there"
        for go in goes(able, caught_by, m):
            takes = sum(t["seconds"] for t in go)
            if spent + takes > budget and go[0]["program"] != LAST:
                by = "not all tests tried"
                continue
            program, names = go[0]["program"], [t["test"] for t in go]
            passed, failed, seconds = tried(programs[program], names, 5 + 6 * takes, MUTANT=str(number))
            spent += seconds
            if not passed:
                outcome = "by time" if passed is None else "golden" if program == LAST else "caught"
                by = f"{program} {failed}"
                caught_by[function, program, failed] += 1
                caught_by[m["group"], program, failed] += 1
                break
        logs[m["group"]].add(m["key"], outcome, by, spent)
        print(f"{outcome} in {spent:.1f} s, {name_of(m)}", flush=True)

    list(workers.map(one, left))


def short(key):
    return digest(key)[:10]


def keep(mutants, logs):
    """Writes what is known of all mutants beside this script, so that it is not found out again."""
    kept = [line for line in kept_lines() if line.split()[0] not in logs]
    for m in mutants:
        outcome, by = logs[m["group"]].known.get(m["key"], ("", ""))
        if outcome:
            why = f", {by}" if outcome == "survived" and by != "-" else ""
            kept.append(f"{m['group']} {short(m['key'])} {outcome}{why}")
    KEPT.write_text("".join(f"{line}\n" for line in sorted(kept)))


def kept_lines():
    return KEPT.read_text().splitlines() if KEPT.exists() else []


def wilson(k, n):
    """The 95 % interval of a share (Wilson 1927), in percent."""
    if n == 0:
        return 0.0, 100.0
    z = 1.959964
    centre, reach = (k + z * z / 2) / (n + z * z), z / (n + z * z) * math.sqrt(k * (n - k) / n + z * z / 4)
    return 100 * (centre - reach), 100 * (centre + reach)


def table(mutants, logs):
    print("| group | mutants | tried | unviable | caught | by time | by golden values alone | survived | share caught (95 %) | without golden values |")
    print("|---|---|---|---|---|---|---|---|---|---|")
    survivors, sums = [], collections.Counter()
    for group in logs:
        of_group = [m for m in mutants if m["group"] == group]
        counts = collections.Counter()
        for m in of_group:
            outcome, by = logs[m["group"]].known.get(m["key"], ("", ""))
            counts[outcome] += 1
            if outcome == "survived":
                survivors.append(f"{name_of(m)}" + (f" ({by})" if by != "-" else ""))
        tried = sum(counts[o] for o in ("caught", "by time", "golden", "survived"))
        noticed = counts["caught"] + counts["by time"]
        shares = [f"{100 * k / max(tried, 1):.1f} % ({low:.1f} to {high:.1f})" for k in (noticed + counts["golden"], noticed) for low, high in [wilson(k, tried)]]
        row = [group, len(of_group), tried, counts["unviable"], counts["caught"], counts["by time"], counts["golden"], counts["survived"], *shares]
        print("| " + " | ".join(map(str, row)) + " |")
    print("\nSurvivors:", *sorted(survivors), sep="\n")


def main():
    words = argparse.ArgumentParser(description="Which changes do the tests notice?")
    words.add_argument("groups", nargs="*", help=f"{', '.join(GROUPS)}; all if none is named")
    words.add_argument("--sample", type=int, help="so many of each group, drawn with a fixed seed")
    words.add_argument("--survivors", action="store_true", help="try what survived once more, and what is new")
    words.add_argument("--budget", type=float, default=60, help="seconds of tests for one mutant (60)")
    words.add_argument("--minutes", type=float, default=1e9, help="begin no mutant after so many minutes")
    words.add_argument("--jobs", type=int, default=os.cpu_count(), help="how many are tried at once")
    words.add_argument("--table", action="store_true", help="only print and keep what is known")
    words.add_argument("--build", action="store_true", help="only build, and time the tests")
    words = words.parse_args()
    WORK.mkdir(parents=True, exist_ok=True)
    until = time.time() + 60 * words.minutes
    groups = words.groups or GROUPS
    mutants, asked, places = listed(groups), [], {}
    logs = {group: Log(group, mutants) for group in groups}
    for group in groups:
        of_group = [m for m in mutants if m["group"] == group]
        # A longer sample begins with the shorter one.
        random.Random(SEED).shuffle(of_group)
        places |= {m["number"]: place for place, m in enumerate(of_group)}
        of_group = of_group[: words.sample]
        known = logs[group].known
        once_more = [m for m in of_group if known.get(m["key"], ("",))[0] in ("", "survived")]
        asked += once_more if words.survivors else of_group
    asked.sort(key=lambda m: m["number"])
    if not words.table:
        programs, dropped = build(asked)
        with concurrent.futures.ThreadPoolExecutor(words.jobs) as workers:
            tests = baseline(programs, workers, WORK / "tests.json")
            if words.build:
                return
            for m in asked:
                if m["number"] in dropped and m["key"] not in logs[m["group"]].known:
                    logs[m["group"]].add(m["key"], dropped[m["number"]], "-", 0)
            fresh = lambda m: words.survivors and m["number"] not in dropped
            left = [m for m in asked if fresh(m) or m["key"] not in logs[m["group"]].known]
            # The groups take turns, so that wherever this stops as many were tried of each.
            left.sort(key=lambda m: places[m["number"]])
            run(asked, left, tests, programs, logs, words.budget, until, workers)
    keep(mutants, logs)
    table(mutants, logs)


main()
