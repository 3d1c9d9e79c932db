//! `headwater open`: serves an event to a browser on this computer.

use super::{events, files, notebook, output};
use crate::error::{Problem, Result, reason};
use crate::event::{Event, HABITS_FILE, Habits};
use crate::web::{Folder, Keys, plain_name, serve};
use std::net::{IpAddr, Ipv4Addr, UdpSocket};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

#[derive(Debug, Default, clap::Args)]
#[command(after_help = "Examples:
  headwater open
  headwater open supper.toml
  headwater open --port 8123")]
pub struct Args {
    /// The event file, which need not be there yet; without one, the page shows all events of this folder.
    event: Option<PathBuf>,
    /// The port to listen on, on this computer only; otherwise any that is free.
    #[arg(long, default_value_t = 0)]
    port: u16,
}

/// The folder that holds the event file.
struct Beside(PathBuf);

impl Beside {
    /// The path of a file that an event names. It fails if the file does not lie in the folder or below it.
    fn inside(&self, name: &str) -> std::io::Result<PathBuf> {
        let (root, path) = (self.0.canonicalize()?, self.0.join(name).canonicalize()?);
        let outside = || std::io::Error::other("it lies outside the folder of the event");
        path.starts_with(&root).then_some(path).ok_or_else(outside)
    }
}

impl Beside {
    /// Reads an event with the florist's habits and the logs that lie in the folder.
    fn read(&self, name: &str, text: &str) -> Result<Event> {
        let habits = events::habits(&self.0)?;
        let habits = habits.as_ref().map(|(_, text)| Habits { file: HABITS_FILE, text });
        Event::read_with(name, text, habits, &|log| files::log(&self.inside(log)?))
    }
}

impl Folder for Beside {
    fn text(&self, name: &str) -> Result<Option<String>> {
        let path = self.0.join(name);
        if path.exists() { files::read(&path).map(Some) } else { Ok(None) }
    }

    fn event(&self, name: &str, text: &str) -> Result<Event> {
        let event = self.read(name, text)?;
        if let Some(book) = event.notebook.as_deref()
            && let Err(e) = self.inside(book)
        {
            let problem = Problem::new(format!("the notebook {book} cannot be read: {}", reason(&e)));
            return Err(problem.help("put it beside the event, and give its name as seen from there").into());
        }
        events::taught(&self.0.join(name), event, None)
    }

    fn hold(&self, name: &str) -> Result<Box<dyn Send>> {
        Ok(Box::new(files::held(&self.0.join(name))?))
    }

    fn save(&self, name: &str, text: &str) -> Result<()> {
        files::write(&self.0.join(name), text.as_bytes())
    }

    fn keep(&self, name: &str, bytes: &[u8]) -> Result<()> {
        let path = self.0.join(name);
        if std::fs::read(&path).is_ok_and(|there| there == bytes) {
            Ok(())
        } else {
            files::create(&path, bytes)
        }
    }

    fn names(&self) -> Result<Vec<String>> {
        let unread = |e| Problem::new(format!("the folder cannot be read: {}", reason(&e)));
        let inside = std::fs::read_dir(&self.0).map_err(unread)?;
        let files = inside.flatten().filter(|entry| entry.path().is_file());
        let mut names: Vec<String> = files.filter_map(|f| f.file_name().into_string().ok()).collect();
        names.retain(|name| name != HABITS_FILE && plain_name(name).is_ok());
        names.sort();
        Ok(names)
    }

    fn notebook(&self, event: Option<&str>) -> Result<(String, Option<String>)> {
        let text = event.map_or(Ok(None), |event| self.text(event))?.unwrap_or_default();
        let read = self.read(event.unwrap_or_default(), &text);
        let named = match read {
            Ok(event) => event.notebook,
            // An unfinished file may name another notebook.
            Err(e) if text.lines().any(|l| l.trim_start().starts_with("notebook")) => return Err(e),
            Err(_) => None,
        };
        let name = named.unwrap_or_else(|| notebook::NAME.to_string());
        let path = self.0.join(&name);
        let outside = |e| {
            Problem::new(format!("the notebook {name} cannot be read: {}", reason(&e)))
                .help("put it beside the event, and give its name as seen from there")
        };
        if path.exists() {
            self.inside(&name).map_err(outside)?;
        } else if name != notebook::NAME {
            return Err(outside(std::io::ErrorKind::NotFound.into()).into());
        }
        let text = notebook::text(&path)?;
        Ok((name, text))
    }

    fn log(&self, name: &str) -> std::io::Result<String> {
        files::log(&self.inside(name)?)
    }

    fn random(&self) -> Result<[u8; 32]> {
        let mut bytes = [0; 32];
        let no_chance = |e| Problem::new(format!("the system gives no random numbers for a key: {e}"));
        getrandom::fill(&mut bytes).map_err(no_chance)?;
        Ok(bytes)
    }

    fn address(&self) -> Option<IpAddr> {
        // Nothing is sent: the system only says from which address it would be.
        let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
        socket.connect((Ipv4Addr::new(10, 255, 255, 255), 9)).ok()?;
        socket.local_addr().ok().map(|address| address.ip())
    }

    fn stamp(&self) -> String {
        output::stamp()
    }

    fn note(&self, name: &str, change: &mut dyn FnMut(Option<String>) -> Result<String>) -> Result<()> {
        notebook::change(&self.0.join(name), |text| Ok((change(text)?, ())))
    }
}

/// Serves the page, and prints its address.
pub fn run(args: &Args) -> Result<ExitCode> {
    serving(args, &|address| {
        output::print(&format!(
            "Open this in your browser; it is good once, and on this computer only:\n  {address}\nStop with Ctrl+C.\n"
        ))
    })
}

/// Serves the page, and opens it in the browser of this computer; prints its address where there is none.
pub fn run_and_show() -> Result<ExitCode> {
    let event = at_home().map(|folder| folder.join(""));
    serving(&Args { event, port: 0 }, &|address| {
        let shown = has_desktop() && open::that_detached(address).is_ok();
        let open = if shown { "headwater is open in your browser." } else { "Open this in your browser." };
        output::print(&format!(
            "{open} Its address is good once, and on this computer only:\n  {address}\nStop with Ctrl+C, or close this window. \
             For the commands: headwater --help\n"
        ))
    })
}

/// Whether there is a desktop, and so a browser to open: without one some systems would start one in the terminal.
fn has_desktop() -> bool {
    let unasked = cfg!(any(target_os = "windows", target_os = "macos"));
    unasked || ["DISPLAY", "WAYLAND_DISPLAY"].iter().any(|name| std::env::var_os(name).is_some())
}

/// A folder of its own in the home of whoever started the program by a double click, which begins at the home or at the
/// root; `None` where it was started in a folder that was chosen.
fn at_home() -> Option<PathBuf> {
    let home = std::env::var_os("HOME").or_else(|| std::env::var_os("USERPROFILE")).map(PathBuf::from)?;
    let here = std::env::current_dir().ok()?;
    let chosen = here != home && here.parent().is_some();
    let folder = home.join("headwater");
    (!chosen && std::fs::create_dir_all(&folder).is_ok()).then_some(folder)
}

/// Serves the page until it is stopped; `tell` says its address.
fn serving(args: &Args, tell: &dyn Fn(&str) -> Result<()>) -> Result<ExitCode> {
    let event = args.event.as_deref().unwrap_or(Path::new(""));
    let is_folder =
        event.as_os_str().is_empty() || event.as_os_str().to_string_lossy().ends_with(['/', '\\']);
    let (folder, name) = match event.file_name().filter(|_| !is_folder) {
        Some(name) => {
            (event.parent().unwrap_or(Path::new("")), Some(name.to_str().unwrap_or_default().to_string()))
        }
        None => (event, None),
    };
    name.as_deref().map_or(Ok(()), plain_name)?;
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    if !folder.is_dir() {
        let problem = Problem::new(format!("there is no folder {}", folder.display()));
        return Err(problem.help("make it first, or open an event in one that is there").into());
    }
    let beside = Beside(folder.to_path_buf());
    name.as_deref().map_or(Ok(None), |name| beside.text(name))?;
    let bytes = beside.random()?;
    let no_server = |e: std::io::Error| {
        Problem::new(format!("port {} of this computer cannot be listened on: {}", args.port, reason(&e)))
            .help("leave --port out, and any that is free is taken")
    };
    let system = tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(no_server)?;
    let served = system.block_on(async {
        let listener = tokio::net::TcpListener::bind(("127.0.0.1", args.port)).await.map_err(no_server)?;
        let keys = Keys::new(bytes);
        tell(&keys.address(listener.local_addr().map_err(no_server)?.port()))?;
        let until = async {
            let _ = tokio::signal::ctrl_c().await;
        };
        serve(listener, Box::new(beside), name, keys, until).await.map_err(no_server)?;
        Ok(ExitCode::SUCCESS)
    });
    // Nobody waits for a plan that is still being made.
    system.shutdown_background();
    served
}
