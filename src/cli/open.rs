//! `headwater open`: serves an event to a browser on this computer.

use super::{events, files, notebook, output};
use crate::error::{Problem, Result, reason};
use crate::event::{Event, HABITS_FILE, Habits};
use crate::web::{Folder, Keys, plain_name, serve};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater open supper.toml
  headwater open --port 8123")]
pub struct Args {
    /// The event file; one that is not there yet starts from a commented one.
    #[arg(default_value = "event.toml")]
    event: PathBuf,
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
        Event::read_with(name, text, habits, &|log| std::fs::read_to_string(self.inside(log)?))
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

    fn names(&self) -> Result<Vec<String>> {
        let unread = |e| Problem::new(format!("the folder cannot be read: {}", reason(&e)));
        let inside = std::fs::read_dir(&self.0).map_err(unread)?;
        let files = inside.flatten().filter(|entry| entry.path().is_file());
        let mut names: Vec<String> = files.filter_map(|f| f.file_name().into_string().ok()).collect();
        names.retain(|name| plain_name(name).is_ok());
        names.sort();
        Ok(names)
    }

    fn notebook(&self, event: &str) -> Result<(String, Option<String>)> {
        let text = self.text(event)?.unwrap_or_default();
        let read = self.read(event, &text);
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
        std::fs::read_to_string(self.inside(name)?)
    }

    fn stamp(&self) -> String {
        output::stamp()
    }

    fn note(&self, name: &str, change: &mut dyn FnMut(Option<String>) -> Result<String>) -> Result<()> {
        notebook::change(&self.0.join(name), |text| Ok((change(text)?, ())))
    }
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let name = args.event.file_name().and_then(|n| n.to_str()).unwrap_or_default().to_string();
    plain_name(&name)?;
    let folder = args.event.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if !folder.is_dir() {
        let problem = Problem::new(format!("there is no folder {}", folder.display()));
        return Err(problem.help("make it first, or open an event in one that is there").into());
    }
    let beside = Beside(folder.to_path_buf());
    beside.text(&name)?;
    let mut bytes = [0; 32];
    let no_chance = |e| Problem::new(format!("the system gives no random numbers for a key: {e}"));
    getrandom::fill(&mut bytes).map_err(no_chance)?;
    let no_server = |e: std::io::Error| {
        Problem::new(format!("port {} of this computer cannot be listened on: {}", args.port, reason(&e)))
            .help("leave --port out, and any that is free is taken")
    };
    let system = tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(no_server)?;
    system.block_on(async {
        let listener = tokio::net::TcpListener::bind(("127.0.0.1", args.port)).await.map_err(no_server)?;
        let keys = Keys::new(bytes);
        let address = keys.address(listener.local_addr().map_err(no_server)?.port());
        output::print(&format!(
            "Open this in your browser; it is good once, and on this computer only:\n  {address}\nStop with Ctrl+C.\n"
        ))?;
        let until = async {
            let _ = tokio::signal::ctrl_c().await;
        };
        serve(listener, Box::new(beside), name, keys, until).await.map_err(no_server)?;
        Ok(ExitCode::SUCCESS)
    })
}
