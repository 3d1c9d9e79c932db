//! The pages in a real browser, by keyboard, narrow and wide, in the light and in the dark, and held against a general-purpose
//! checker of accessibility: axe-core, whose rules follow WCAG 2.2 (W3C, 2023).
//!
//! The checker is not part of the program: its one file is looked for where `HEADWATER_AXE` says.

mod common;
mod devtools;

use common::missing;
use devtools::Browser;
use serde_json::json;
use std::io::BufRead;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use tempfile::TempDir;

/// Every window that pages are looked at in.
const WINDOWS: [(u32, u32, &str); 4] =
    [(1280, 800, "light"), (1280, 800, "dark"), (400, 800, "light"), (400, 800, "dark")];

/// The program in a folder of its own, and the address it told.
struct Program {
    child: Child,
    folder: TempDir,
    address: String,
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Program {
    /// Opened on one event, or on all of the folder.
    fn open(file: Option<&str>, folder: TempDir) -> Program {
        let mut child = Command::new(env!("CARGO_BIN_EXE_headwater"))
            .arg("open")
            .args(file)
            .current_dir(folder.path())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let lines = std::io::BufReader::new(child.stdout.take().unwrap()).lines();
        let address = lines
            .map_while(std::io::Result::ok)
            .find_map(|l| l.trim().starts_with("http://").then(|| l.trim().to_string()));
        Program { child, folder, address: address.expect("an address is told") }
    }
}

/// The checker's script.
fn axe() -> Option<String> {
    let named = std::env::var("HEADWATER_AXE").ok();
    let script = named.and_then(|path| std::fs::read_to_string(path).ok());
    if script.is_none() {
        missing("the accessibility checker: name its axe.min.js in HEADWATER_AXE");
    }
    script
}

/// No page is wider than its window, and none breaks a rule of the checker, in any window.
fn looks_well(browser: &mut Browser, axe: Option<&str>, what: &str) {
    for (width, height, scheme) in WINDOWS {
        browser.window(width, height, scheme);
        let over = browser.eval("document.documentElement.scrollWidth - innerWidth").as_i64().unwrap();
        assert!(over <= 0, "{what} is {over} pixels too wide for {width}");
        let asked = browser.eval(
            "performance.getEntriesByType('resource').map(e => e.name).filter(n => !n.startsWith(location.origin + '/'))",
        );
        assert_eq!(asked, json!([]), "{what} asks for something that is not on this computer");
        let Some(axe) = axe else { continue };
        browser.eval(&format!("{axe}; 0"));
        let told = browser.eval(
            "axe.run(document, { resultTypes: ['violations'] }).then(r => r.violations.map(v => \
             v.id + ': ' + v.help + ' | ' + v.nodes.slice(0, 5).map(n => n.html.slice(0, 200)).join(' || ')))",
        );
        assert_eq!(told, json!([]), "{what}, {width} pixels wide, {scheme}");
    }
}

/// How a person reaches things and what that takes: how many things were pressed, tapped or gone to, how many signs were
/// typed, and how often the Tab key.
struct Hand<'a> {
    browser: &'a mut Browser,
    by: By,
    actions: u32,
    keys: u32,
    tabs: u32,
}

#[derive(Clone, Copy, PartialEq, Debug)]
enum By {
    Mouse,
    Touch,
    Keyboard,
}

impl Hand<'_> {
    /// Goes to a thing and presses it.
    fn press(&mut self, selector: &str) {
        self.actions += 1;
        self.browser.until(&format!("document.querySelector({selector:?})"));
        if self.by == By::Keyboard {
            self.tabs += self.browser.tabs_to(selector);
            if self.browser.eval("document.activeElement.matches('button, summary, a')") == json!(true) {
                self.browser.press("Enter", false);
            }
            return;
        }
        self.browser
            .eval(&format!("document.querySelector({selector:?}).scrollIntoView({{ block: 'center' }})"));
        let at = format!(
            "(() => {{ const r = document.querySelector({selector:?}).getBoundingClientRect(); \
             return [r.x + Math.min(r.width / 2, 20), r.y + r.height / 2, Math.min(r.width, r.height)]; }})()"
        );
        let at = self.browser.eval(&at);
        if self.by == By::Touch {
            assert!(at[2].as_f64().unwrap() >= 44.0 - 0.5, "{selector} is too small for a thumb: {at}");
        }
        self.browser.tap(at[0].as_f64().unwrap(), at[1].as_f64().unwrap(), self.by == By::Touch);
    }

    /// Types into what has the focus.
    fn write(&mut self, text: &str) {
        self.keys += text.chars().count() as u32;
        self.browser.write(text);
    }

    /// Goes to a field and types over what it holds.
    fn fill(&mut self, selector: &str, text: &str) {
        self.press(selector);
        self.browser.eval("document.activeElement.select?.()");
        self.write(text);
        if let Some(line) = text.strip_suffix('\n') {
            // Written, and shown again as it is in the file; a page that is left has no such field any more.
            let field = format!("document.querySelector({selector:?})");
            self.browser.until(&format!("!{field} || {field}.defaultValue == {line:?}"));
        }
    }

    /// Opens a card or a part, unless it is open.
    fn open(&mut self, id: &str) {
        self.browser.until(&format!("document.querySelector('{id}')"));
        if self.browser.eval(&format!("document.querySelector('{id}').open")) == json!(false) {
            self.press(&format!("{id} > summary"));
        }
    }

    /// Adds a flower to the piece in whose search the focus is, and its count.
    fn flower(&mut self, piece: usize, number: usize, name: &str, heads: &str) {
        self.browser.until(&format!("document.activeElement.id == 'f-piece-{piece}-add'"));
        self.write(name);
        self.browser.until(&format!("document.querySelector('#piece-{piece} .found button')"));
        self.write("\n");
        let count = format!("f-piece-{piece}-flower-{number}-heads");
        self.browser.until(&format!("document.activeElement.id == '{count}'"));
        self.write(&format!("{heads}\n"));
        self.browser.until(&format!("document.querySelector('#{count}').defaultValue == '{heads}'"));
    }
}

/// A new event of 40 guests from nothing, its verdict, a help, and the page for the client.
fn from_nothing(by: By, width: u32) {
    let Some(mut browser) = Browser::start() else { return };
    let program = Program::open(None, TempDir::new().unwrap());
    browser.window(width, 844, "light");
    if by == By::Touch {
        browser.call("Emulation.setTouchEmulationEnabled", json!({ "enabled": true }));
    }
    browser.open(&program.address);
    let mut hand = Hand { browser: &mut browser, by, actions: 0, keys: 0, tabs: 0 };
    hand.fill("#new-name", "Orchard lunch\n");
    hand.press("#f-event-date");
    hand.write("08142027");
    hand.fill("#f-event-doors", "13:00");
    hand.fill("#f-event-end", "18:00\n");
    hand.open("#the-rooms");
    hand.press(".tiles li:nth-child(7) button");
    hand.browser.until("document.querySelector('#f-space-0-room')");
    hand.open("#setting-up");
    hand.press("#setting-up .row button:nth-child(1)");
    hand.browser.until("document.querySelector('#f-access-0-to')");
    hand.press("#setting-up .row button");
    hand.browser.until("document.querySelector('#f-access-1-to')");
    hand.fill("#f-access-1-to", "12:30\n");
    hand.open("#the-pieces");
    hand.press("#the-pieces .in > .row button:nth-child(1)");
    hand.flower(0, 0, "rose", "12");
    hand.press("#f-piece-0-add");
    hand.flower(0, 1, "dahl", "8");
    for copy in 1..3 {
        hand.press("#piece-0 > .row button");
        hand.browser.until(&format!("document.querySelector('#f-piece-{copy}-name')"));
    }
    hand.press("#the-pieces .in > .row button:nth-child(2)");
    hand.flower(3, 0, "hydr", "9");
    hand.open("#hands");
    hand.fill("#f-crew-people", "3\n");
    let answered =
        "!document.querySelector('#bar.older') && document.querySelector('#bar .sign.good, #bar .sign.bad')";
    hand.browser.until("document.querySelector('#f-crew-people').defaultValue == '3'");
    hand.browser.until(answered);
    let told = hand.browser.text("document.querySelector('#bar').innerText");
    assert!(told.contains("hydrangea") && told.contains("will not last"), "{told}");
    // A help is taken by a press.
    hand.press("#bar a[href='#helps']");
    hand.press("#helps button");
    hand.browser.until("document.querySelector('#bar.older')");
    hand.browser.until("!document.querySelector('#bar.older') && document.querySelector('#bar .sign.good')");
    let client = hand.browser.text("document.querySelector('#papers a').href");
    hand.actions += 1;
    hand.browser.open(&client);
    let paper = hand.browser.text("document.body.innerText");
    assert!(paper.contains("Orchard lunch"), "{paper}");
    println!(
        "{by:?}, {width} pixels: {} actions, {} keys, {} times the Tab key",
        hand.actions, hand.keys, hand.tabs
    );
    assert!(hand.actions <= 60 && hand.keys <= 120, "{} actions, {} keys", hand.actions, hand.keys);
    let file = program.folder.path().join("Orchard lunch.toml");
    let read = Command::new(env!("CARGO_BIN_EXE_headwater")).arg("check").arg(&file).output().unwrap();
    assert!(read.status.success(), "{}", String::from_utf8_lossy(&read.stderr));
    browser.complaints.retain(|c| !c.contains("409"));
    assert_eq!(browser.complaints, Vec::<String>::new());
}

#[test]
fn an_event_from_nothing_by_mouse() {
    from_nothing(By::Mouse, 1280);
}

#[test]
fn an_event_from_nothing_by_keyboard_alone() {
    from_nothing(By::Keyboard, 1280);
}

#[test]
fn an_event_from_nothing_by_touch_on_a_phone() {
    from_nothing(By::Touch, 390);
}

/// The answer of the whole plan, of the event as it stands.
const ANSWERED: &str =
    "!document.querySelector('#bar.older') && document.querySelector('#bar .sign.good, #bar .sign.bad')";

#[test]
fn the_ribbon_the_file_and_undo_keep_one_event_and_its_answer_together() {
    let Some(mut browser) = Browser::start() else { return };
    let folder = TempDir::new().unwrap();
    std::fs::write(folder.path().join("supper.toml"), demo("harvest-supper.toml")).unwrap();
    let program = Program::open(Some("supper.toml"), folder);
    let file = program.folder.path().join("supper.toml");
    let text = || std::fs::read_to_string(&file).unwrap();
    browser.window(1280, 800, "light");
    browser.open(&program.address);
    browser.until(ANSWERED);
    let first = browser.text("document.querySelector('#bar').innerText");

    // By the arrow keys: it answers at once, and Escape takes it back.
    let dahlias = "[data-strip][aria-label^='head table garland, ball dahlia']";
    browser.eval(&format!("document.querySelector(\"{dahlias}\").focus()"));
    for _ in 0..12 {
        browser.press("ArrowLeft", false);
    }
    let said = browser.text("document.querySelector('#ask').innerText");
    assert!(said.contains("instead of") && said.contains("in 10") && said.contains("of 24"), "{said}");
    assert!(browser.text("document.activeElement.getAttribute('aria-valuetext')").contains("sure"));
    browser.press("Escape", false);
    assert_eq!(browser.eval("document.querySelector('#ask').hidden"), json!(true));
    assert_eq!(text(), demo("harvest-supper.toml"), "asking writes nothing");
    // Kept, it is written, planned again, and taken back by one press.
    browser.press("ArrowLeft", false);
    browser.press("Enter", false);
    browser.until("document.querySelector('#bar.older')");
    assert_eq!(
        browser.eval("document.querySelector('#planned').inert"),
        json!(true),
        "nothing old leads anywhere"
    );
    browser.until(ANSWERED);
    assert!(text().contains("placed_from"));
    assert_ne!(browser.text("document.querySelector('#bar').innerText"), first);
    browser.eval("document.querySelector('#undo').click()");
    browser.until(&format!("{ANSWERED} && document.querySelector('#bar').innerText.startsWith('All lasts')"));
    assert_eq!(text(), demo("harvest-supper.toml"));

    // The file is the same event: what is typed there is in the cards.
    browser.eval("document.querySelector('#file-card').open = true; document.querySelector('#text').focus()");
    browser.eval(
        "(() => { const t = document.querySelector('#text'); t.value = t.value.replace('Wren and Hollis', 'Ash and Rowan'); \
         t.dispatchEvent(new Event('input', { bubbles: true })); })()",
    );
    browser.until("document.querySelector('h1').textContent.includes('Ash and Rowan')");
    assert_eq!(text(), demo("harvest-supper.toml").replace("Wren and Hollis", "Ash and Rowan"));
    // A slip is told at its field, and mended by a press.
    browser.eval(
        "document.querySelector('#the-pieces').open = true; document.querySelector('#piece-2').open = true",
    );
    browser.eval(
        "(() => { const t = document.querySelector('#text'); t.value = t.value.replace('\"antique hydrangea\"', '\"hidrangea\"'); \
         t.dispatchEvent(new Event('input', { bubbles: true })); })()",
    );
    browser.until("document.querySelector('#cards p.wrong button')");
    assert!(browser.text("document.querySelector('#bar').innerText").contains("not understood"));
    assert_eq!(browser.eval("document.querySelector('#bar .sign.good')"), json!(null));
    browser.eval("document.querySelector('#cards p.wrong button').click()");
    browser.until(ANSWERED);

    // Another window changed it meanwhile: this one says so, and writes nothing over it.
    let elsewhere = text().replace("Ash and Rowan", "Sol and Lark");
    std::fs::write(&file, &elsewhere).unwrap();
    browser.eval(
        "document.querySelector('#the-day').open = true; document.querySelector('#f-event-doors').focus()",
    );
    browser.press("a", true);
    browser.write("15:45\n");
    browser.until("document.querySelector('#trouble').textContent.includes('changed elsewhere')");
    assert_eq!(text(), elsewhere);
    assert_eq!(
        browser.text("document.querySelector('#f-event-doors').value"),
        "15:45",
        "nothing typed is lost"
    );
    browser.complaints.retain(|c| !c.contains("422") && !c.contains("409"));
    assert_eq!(browser.complaints, Vec::<String>::new());

    // The program is gone: the page says so, and shows nothing as good.
    drop(program);
    browser.eval("document.querySelector('#undo').click()");
    browser.until("document.querySelector('#trouble').textContent.includes('does not answer')");
    assert!(browser.eval("document.querySelector('#bar.older') != null") == json!(true));
}

#[test]
fn a_loggers_file_that_is_chosen_is_kept_and_named_by_its_room() {
    let Some(mut browser) = Browser::start() else { return };
    let folder = TempDir::new().unwrap();
    let event = demo("harvest-supper.toml").replacen("room = \"warm barn\"", "log = \"last.csv\"", 1);
    std::fs::write(folder.path().join("supper.toml"), event).unwrap();
    let program = Program::open(Some("supper.toml"), folder);
    let at = |name: &str| std::fs::read_to_string(program.folder.path().join(name)).unwrap_or_default();
    browser.open(&program.address);
    browser.until("document.querySelector('[data-log]')");
    let hours: Vec<String> =
        (0..48).map(|h| format!("2027-08-{} {:02}:00,24,50", 13 + h / 24, h % 24)).collect();
    let readings = format!("time,temperature C,humidity %\n{}\n", hours.join("\n"));
    browser.eval(&format!(
        "(() => {{ const d = new DataTransfer(), f = document.querySelector('[data-log]'); \
         d.items.add(new File([{readings:?}], 'barn.csv')); f.files = d.files; \
         f.dispatchEvent(new Event('change', {{ bubbles: true }})); }})()"
    ));
    browser.until("document.querySelector('#f-space-0-log').defaultValue == 'barn.csv'");
    browser.until(ANSWERED);
    assert_eq!(at("barn.csv"), readings);
    assert!(at("supper.toml").contains("log = \"barn.csv\""), "{}", at("supper.toml"));
}

#[test]
fn a_trial_is_begun_looked_at_and_taken_back_by_keyboard_alone() {
    let Some(mut browser) = Browser::start() else { return };
    let folder = TempDir::new().unwrap();
    let program = Program::open(Some("wedding.toml"), folder);
    browser.window(400, 800, "dark");
    browser.open(&program.address);
    browser.tab_to("a[href^='trials']");
    browser.press("Enter", false);
    browser.until("document.querySelector('#begin')");
    let trials = browser.text("location.href");
    // The browser knows the day and the hour.
    assert!(browser.text("document.querySelector('#date').value").starts_with("20"));
    browser.tab_to("#flower");
    browser.write("no such flower");
    browser.tab_to("#air");
    browser.write("22 C 48 %");
    browser.press("Enter", false);
    browser.until("document.activeElement?.id == 'wrong'");
    // What was written is still there.
    assert_eq!(browser.text("document.querySelector('#air').value"), "22 C 48 %");
    browser.tab_to("#flower");
    browser.press("a", true);
    browser.write("ball dahlia");
    browser.press("Enter", false);
    browser.until("document.querySelector('#trial-1')");
    let notebook = program.folder.path().join("trials.csv");
    let text = || std::fs::read_to_string(&notebook).unwrap();
    assert!(text().contains("start,1,") && text().contains("dahlia-ball") && text().contains("22 C 48 %"));
    browser.tab_to("#trial-1 summary");
    browser.press("Enter", false);
    browser.tab_to("#after-1");
    browser.write("3 h");
    browser.tab_to("#good-1");
    browser.write("4");
    browser.press("Enter", false);
    browser.until("document.querySelector('#trial-1 td')");
    assert!(browser.text("document.querySelector('#trial-1').innerText").contains("of 10, 4 presentable"));
    browser.tab_to("a[href^='learned']");
    browser.press("Enter", false);
    browser.until("document.querySelector('figure svg')");
    assert!(browser.text("document.body.innerText").contains("After your one trial"));
    browser.open(&trials);
    let before = text();
    browser.tab_to("form[action^='trial-undo'] button");
    browser.press("Enter", false);
    browser.until("document.querySelector('#done').textContent == 'Taken out again.'");
    assert!(text().lines().count() == before.lines().count() - 1 && before.starts_with(&text()));
    // The terminal reads the same notebook.
    let shown = Command::new(env!("CARGO_BIN_EXE_headwater"))
        .args(["trial", "show"])
        .current_dir(program.folder.path())
        .output()
        .unwrap();
    assert!(String::from_utf8_lossy(&shown.stdout).contains("TRIAL 1: Dahlia"));
    browser.complaints.retain(|c| !c.contains("422"));
    assert_eq!(browser.complaints, Vec::<String>::new());
}

fn demo(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference-data/demo").join(name);
    std::fs::read_to_string(path).unwrap()
}

#[test]
fn every_page_and_paper_looks_well_and_can_be_used_by_all() {
    let Some(mut browser) = Browser::start() else { return };
    let axe = axe();
    let folder = TempDir::new().unwrap();
    std::fs::write(folder.path().join("supper.toml"), demo("harvest-supper.toml")).unwrap();
    std::fs::write(folder.path().join("other.toml"), "wrong = 1\n").unwrap();
    std::fs::write(folder.path().join("trials.csv"), demo("notebook.csv")).unwrap();
    let program = Program::open(None, folder);
    browser.window(1280, 800, "light");
    browser.open(&program.address);
    let base = browser.text("location.href");
    let open_all = "document.querySelectorAll('details').forEach(d => d.open = true)";
    browser.until("[...document.querySelectorAll('.told')].every(t => t.querySelector('svg'))");
    browser.eval(open_all);
    looks_well(&mut browser, axe.as_deref(), "the doors");
    browser.open(&format!("{base}event?file=supper.toml"));
    browser.until(ANSWERED);
    looks_well(&mut browser, axe.as_deref(), "the event, its cards closed");
    browser.eval(open_all);
    browser.until("document.querySelector('#days-in svg')");
    looks_well(&mut browser, axe.as_deref(), "the event");
    // Text twice as large, as by the browser's own setting, takes the form of a phone and loses nothing.
    browser.eval("document.documentElement.style.fontSize = '200%'");
    browser.window(1280, 800, "light");
    let over = browser.eval("document.documentElement.scrollWidth - innerWidth").as_i64().unwrap();
    assert!(over <= 0, "with large text {over} pixels too wide");
    browser.eval("document.documentElement.style.fontSize = ''");
    let number = browser.text("document.querySelector('[data-plan]').dataset.plan");
    // Whoever wants less motion, or colours of their own, has them.
    browser.call("Emulation.setEmulatedMedia", json!({ "features": [
        { "name": "prefers-reduced-motion", "value": "reduce" }, { "name": "forced-colors", "value": "active" },
    ] }));
    let still = "[...document.querySelectorAll('*')].every(e => ['none', ''].includes(getComputedStyle(e).animationName) \
                 && parseFloat(getComputedStyle(e).transitionDuration) == 0)";
    assert_eq!(browser.eval(still), json!(true), "something moves");
    for path in [
        "trials",
        "learned?flower=dahlia-ball",
        "learned?flower=x",
        "protocol.html",
        "why?file=supper.toml&piece=1&flower=2",
        "ask?flower=dahlia&room=warm+barn&hours=6",
        "ask?flower=nothing&room=warm+barn&hours=6",
        "event?file=other.toml",
        "event?file=new.toml",
    ] {
        browser.open(&format!("{base}{path}"));
        browser.eval(open_all);
        looks_well(&mut browser, axe.as_deref(), path);
    }
    for paper in ["client", "run-sheet", "buying"] {
        browser.open(&format!("{base}paper?plan={number}&name={paper}.html"));
        looks_well(&mut browser, axe.as_deref(), paper);
        if paper == "client" {
            assert_eq!(browser.printed_sheets(), 1, "the client gets one page from the browser, too");
        }
    }
    // The page that goes along stands alone.
    let papers = program.folder.path().join("papers");
    let made = Command::new(env!("CARGO_BIN_EXE_headwater"))
        .args(["papers", "supper.toml", "--out", "papers"])
        .current_dir(program.folder.path())
        .output()
        .unwrap();
    assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
    browser.open(&format!("file://{}", papers.join("take-along.html").display()));
    looks_well(&mut browser, axe.as_deref(), "the page to take along");
    let mut told = |script: &str| {
        let all =
            "['#said', '#planned', '#verdict'].map(at => document.querySelector(at).textContent).join('|')";
        browser.text(&format!("{{ {script} }}; {all}"))
    };
    let typed = |reading: &str| {
        format!(
            "const r = document.querySelector('#reading'); r.value = '{reading}'; r.dispatchEvent(new Event('input'))"
        )
    };
    assert!(told("").starts_with("as planned||The plan holds."));
    let hot = told(&typed("60"));
    assert!(hot.contains("hotter than was worked out") && hot.contains("The plan has"), "{hot}");
    let none = told(&typed(""));
    assert!(none.starts_with("as planned||The plan holds."), "nothing outlives what was typed: {none}");
    let words = told(&typed("warm"));
    assert!(words.contains("type a number"), "{words}");
    let slid = told(
        "const s = document.querySelector('#hotter'); s.value = 10; s.dispatchEvent(new Event('input'))",
    );
    assert!(slid.starts_with("10 C hotter than planned||") && slid.contains("no longer sure"), "{slid}");
    let tubed =
        "[...document.querySelectorAll('.lost')].filter(row => /tube/.test(row.children[1].textContent))";
    let marks =
        browser.text(&format!("{tubed}.map(row => row.querySelector('.mark').textContent).join('|')"));
    assert!(!marks.is_empty() && !marks.contains("tube it"), "what is in a tube is not to be tubed: {marks}");
    // A tick stays where the page is opened again.
    browser.eval("document.querySelector('ul.ticks input').click()");
    browser.open(&format!("file://{}", papers.join("take-along.html").display()));
    assert_eq!(browser.text("String(document.querySelector('ul.ticks input').checked)"), "true");
    browser.complaints.retain(|c| !c.contains("422"));
    assert_eq!(browser.complaints, Vec::<String>::new());
}
