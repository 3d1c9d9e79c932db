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
    fn open(file: &str, folder: TempDir) -> Program {
        let mut child = Command::new(env!("CARGO_BIN_EXE_headwater"))
            .args(["open", file])
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

    /// Another page of the same server.
    fn at(&self, path: &str) -> String {
        format!("{}{path}", self.address.split_once("/?").unwrap().0)
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
        let Some(axe) = axe else { continue };
        browser.eval(&format!("{axe}; 0"));
        let told = browser.eval(
            "axe.run(document, { resultTypes: ['violations'] }).then(r => r.violations.map(v => \
             v.id + ': ' + v.help + ' | ' + v.nodes.slice(0, 5).map(n => n.html.slice(0, 200)).join(' || ')))",
        );
        assert_eq!(told, json!([]), "{what}, {width} pixels wide, {scheme}");
    }
}

const FRESH: &str =
    "[event]\nname = \"A wedding\"\ndate = 2027-06-12\ndoors = \"17:00\"\nend = \"23:00\"\n\n";

#[test]
fn an_event_from_scratch_by_keyboard_alone() {
    let Some(mut browser) = Browser::start() else { return };
    let folder = TempDir::new().unwrap();
    let program = Program::open("wedding.toml", folder);
    browser.window(1280, 800, "light");
    browser.open(&program.address);
    browser.until("document.querySelector('[data-plan]')");
    browser.tab_to("#text");
    browser.press("a", true);
    browser.press("Delete", false);
    browser.write(FRESH);
    let button = |part: &str| format!("button[data-part^='{part}']");
    let add = |browser: &mut Browser, part: &str| {
        browser.tab_to(&button(part));
        browser.press(" ", false);
    };
    add(&mut browser, "[[access]]");
    add(&mut browser, "[crew]");
    add(&mut browser, "[[tubes]]");
    browser.tab_to("#words");
    browser.write("warm barn");
    browser.press("Enter", false);
    add(&mut browser, "[[piece]]");
    browser.tab_to("#wanted");
    browser.write("ball dahlia");
    browser.until("document.querySelector('#found button[data-flower=dahlia-ball]')");
    browser.tab_to("#found button[data-flower=dahlia-ball]");
    browser.press("Enter", false);
    // The number of heads is chosen, to be typed over.
    browser.write("24");
    browser.until("document.querySelector('#problems .fine')");
    browser.press("Enter", true);
    browser.until("document.querySelector('#plan-state').textContent == 'Planned.'");
    let told = browser.text("document.querySelector('#planned').innerText");
    assert!(told.contains("A wedding") && told.contains("ball dahlia") && told.contains("24"), "{told}");

    // A warmer room, later, another way: each is answered, and the air is put into words for those who hear it.
    browser.tab_to("input[name=warmer]");
    for _ in 0..6 {
        browser.press("ArrowRight", false);
    }
    browser.until("document.querySelector('.told').textContent.includes('6 C warmer')");
    assert_eq!(browser.text("document.activeElement.getAttribute('aria-valuetext')"), "6 C warmer");
    let at = browser.text("document.querySelector('[data-of=at]').textContent");
    browser.tab_to("input[name=at]");
    browser.press("ArrowLeft", false);
    browser.press("ArrowRight", false);
    browser.press("ArrowRight", false);
    browser.until(&format!(
        "document.querySelector('[data-of=at]').textContent != '{at}' && document.querySelector('.told').textContent"
    ));
    browser.tab_to("select[name=treatment]");
    browser.write("b");
    browser.until("document.querySelector('.told').textContent.startsWith('Bud vase')");

    browser.press("s", true);
    browser.until("document.querySelector('#saved').textContent.startsWith('Saved')");
    let file = program.folder.path().join("wedding.toml");
    let saved = std::fs::read_to_string(&file).unwrap();
    assert_eq!(browser.text("document.querySelector('#text').value"), saved);
    assert!(saved.starts_with(FRESH) && saved.contains("heads = 24"), "{saved}");
    // The terminal reads the same file.
    let read = Command::new(env!("CARGO_BIN_EXE_headwater")).arg("check").arg(&file).output().unwrap();
    assert!(read.status.success(), "{}", String::from_utf8_lossy(&read.stderr));

    browser.open(&program.at("/"));
    browser.until("document.querySelector('[data-plan]')");
    assert_eq!(browser.text("document.querySelector('#text').value"), saved);
    assert!((1..=12).contains(&browser.printed_sheets()));

    // What is wrong leads to its line.
    browser.tab_to("#text");
    browser.press("a", true);
    browser.write("[event]\nname = 3 4\n");
    browser.until("document.querySelector('#problems button')");
    browser.tab_to("#problems button");
    browser.press("Enter", false);
    assert_eq!(browser.text("document.activeElement.id"), "text");
    // An answer that turns away is told as an error by the browser, and is none.
    browser.complaints.retain(|c| !c.contains("422"));
    assert_eq!(browser.complaints, Vec::<String>::new());
}

#[test]
fn a_trial_is_begun_looked_at_and_taken_back_by_keyboard_alone() {
    let Some(mut browser) = Browser::start() else { return };
    let folder = TempDir::new().unwrap();
    let program = Program::open("wedding.toml", folder);
    browser.window(400, 800, "dark");
    browser.open(&program.address);
    browser.tab_to("a[href='/trials']");
    browser.press("Enter", false);
    browser.until("document.querySelector('#begin')");
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
    browser.tab_to("a[href='/trials/learned?flower=dahlia-ball']");
    browser.press("Enter", false);
    browser.until("document.querySelector('figure svg')");
    assert!(browser.text("document.body.innerText").contains("After your one trial"));
    browser.open(&program.at("/trials"));
    let before = text();
    browser.tab_to("form[action='/trials/undo'] button");
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
    let program = Program::open("supper.toml", folder);
    browser.window(1280, 800, "light");
    browser.open(&program.address);
    browser.until("document.querySelector('[data-plan]')");
    browser.eval("document.querySelectorAll('details').forEach(d => d.open = true)");
    looks_well(&mut browser, axe.as_deref(), "the event");
    let number = browser.text("document.querySelector('[data-plan]').dataset.plan");
    for path in
        ["/trials", "/trials/learned?flower=dahlia-ball", "/trials/learned?flower=x", "/trials/protocol.html"]
    {
        browser.open(&program.at(path));
        browser.eval("document.querySelectorAll('details').forEach(d => d.open = true)");
        looks_well(&mut browser, axe.as_deref(), path);
    }
    for paper in ["client", "run-sheet", "buying"] {
        browser.open(&program.at(&format!("/papers/{number}/{paper}.html")));
        looks_well(&mut browser, axe.as_deref(), paper);
        if paper == "client" {
            assert_eq!(browser.printed_sheets(), 1, "the client gets one page from the browser, too");
        }
    }
    browser.open(&program.at("/?file=other.toml"));
    browser.until("document.querySelector('#problems button')");
    looks_well(&mut browser, axe.as_deref(), "a file with mistakes");
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
    let said = browser.text("document.querySelector('#said')?.textContent");
    assert!(!said.is_empty());
    browser.complaints.retain(|c| !c.contains("422"));
    assert_eq!(browser.complaints, Vec::<String>::new());
}
