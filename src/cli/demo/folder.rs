//! The demo's own folder: which files in it are the demo's, so that it can be run twice and never
//! touches anybody else's.

use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use serde::{Deserialize, Serialize};

/// The list of the demo's files within its folder.
const LIST: &str = "demo.json";
const FORMAT: &str = "carpotempo-demo";

#[derive(Serialize, Deserialize)]
struct List {
    format: String,
    /// What everything here is.
    note: String,
    /// Paths within the folder, with forward slashes.
    files: Vec<String>,
}

/// A folder whose planned files are the demo's.
pub struct DemoFolder {
    path: PathBuf,
}

impl DemoFolder {
    /// Makes room for the planned files: those of an earlier demo are removed. `kept` is planned
    /// as well, but whoever writes it replaces it.
    ///
    /// # Errors
    /// A file in the way that no demo put there, before anything is changed; the errors of the
    /// file system.
    pub fn claim(path: &Path, planned: &[String], kept: &str) -> anyhow::Result<DemoFolder> {
        let earlier = earlier(path)?;
        let present = |name: &&String| path.join(name).symlink_metadata().is_ok();
        let files: Vec<String> = planned.iter().cloned().chain([kept.to_owned()]).collect();
        if let Some(name) = files
            .iter()
            .find(|name| present(name) && !earlier.contains(name))
        {
            bail!(
                "{} is there already and no demo put it there: choose another folder with --out, or move it away",
                path.join(name).display()
            );
        }
        std::fs::create_dir_all(path)
            .with_context(|| format!("making the demo's folder {}", path.display()))?;
        let list = List {
            format: FORMAT.to_owned(),
            note: "Invented data. Running the demo again replaces these files.".to_owned(),
            files,
        };
        let list_path = path.join(LIST);
        let text = serde_json::to_string_pretty(&list)? + "\n";
        std::fs::write(&list_path, text)
            .with_context(|| format!("writing {}", list_path.display()))?;
        for name in planned.iter().filter(present) {
            let file = path.join(name);
            std::fs::remove_file(&file).with_context(|| format!("replacing {}", file.display()))?;
        }
        Ok(DemoFolder {
            path: path.to_owned(),
        })
    }

    /// Writes one of the planned files.
    ///
    /// # Errors
    /// The errors of the file system.
    pub fn write(&self, name: &str, text: &str) -> anyhow::Result<()> {
        let path = self.path.join(name);
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent)
                .with_context(|| format!("making {}", parent.display()))?;
        }
        std::fs::write(&path, text).with_context(|| format!("writing {}", path.display()))
    }
}

/// The files of an earlier demo in this folder.
fn earlier(path: &Path) -> anyhow::Result<Vec<String>> {
    let list_path = path.join(LIST);
    let text = match std::fs::read_to_string(&list_path) {
        Ok(text) => text,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        // Something else of that name, or the demo's folder is a file.
        Err(error) => {
            return Err(error).with_context(|| format!("reading {}", list_path.display()));
        }
    };
    match serde_json::from_str::<List>(&text) {
        Ok(list) if list.format == FORMAT => Ok(list.files),
        _ => bail!(
            "{} is no list of a demo: choose another folder with --out, or move it away",
            list_path.display()
        ),
    }
}
