//! Files and standard streams: bounded reading, and writing that leaves no half-written file behind.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// The largest file or standard input that is read, in bytes.
pub const LARGEST_INPUT: u64 = 64 << 20;

/// Whether the path stands for standard input.
pub fn is_standard_input(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// The path as messages name it.
pub fn name(path: &Path) -> String {
    if is_standard_input(path) {
        "standard input".into()
    } else {
        path.display().to_string()
    }
}

/// The whole file, or standard input where the path is `-`.
///
/// # Errors
/// A sentence that names the file and the reason, also where it has more than [`LARGEST_INPUT`] bytes.
pub fn read(path: &Path) -> Result<Vec<u8>, String> {
    let bytes = if is_standard_input(path) {
        read_bounded(io::stdin().lock())
    } else {
        File::open(path).and_then(read_bounded)
    };
    bytes.map_err(|error| format!("Cannot read {}: {error}.", name(path)))
}

fn read_bounded(source: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    source.take(LARGEST_INPUT + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > LARGEST_INPUT {
        return Err(io::Error::other("it has more than 64 MiB"));
    }
    Ok(bytes)
}

/// Where a result goes: looked over before a long solve, written after it.
#[derive(Debug)]
pub struct Target {
    path: PathBuf,
    /// A pipe or device is written to as it is: renaming a file onto it would replace it.
    in_place: bool,
}

impl Target {
    /// Looks whether the file can be there at all, so that a wrong path is told at once.
    ///
    /// # Errors
    /// A sentence that names the path and what is wrong with it.
    pub fn new(path: &Path) -> Result<Target, String> {
        let failed = |reason: &dyn std::fmt::Display| {
            Err(format!("Cannot write {}: {reason}.", path.display()))
        };
        match fs::metadata(path) {
            Ok(found) if found.is_dir() => failed(&"it is a folder"),
            Ok(found) => match fs::canonicalize(path) {
                // The file that a symbolic link points to is replaced, not the link.
                Ok(path) => Ok(Target {
                    in_place: !found.is_file(),
                    path,
                }),
                Err(error) => failed(&error),
            },
            Err(_) => match fs::metadata(folder(path)) {
                Ok(found) if found.is_dir() && path.file_name().is_some() => Ok(Target {
                    path: path.to_path_buf(),
                    in_place: false,
                }),
                Ok(_) => failed(&"its folder is no folder"),
                Err(error) => failed(&error),
            },
        }
    }

    /// Writes all the bytes or leaves the file as it was.
    ///
    /// # Errors
    /// A sentence that names the file and the reason.
    pub fn write(&self, bytes: &[u8]) -> Result<(), String> {
        let written = if self.in_place {
            OpenOptions::new()
                .write(true)
                .open(&self.path)
                .and_then(|mut file| file.write_all(bytes))
        } else {
            replace(&self.path, bytes)
        };
        written.map_err(|error| format!("Cannot write {}: {error}.", self.path.display()))
    }
}

/// A folder that several results go to, each to a file of its own.
#[derive(Debug)]
pub struct Folder {
    path: PathBuf,
}

impl Folder {
    /// Looks whether the folder is there, or can be made in one that is.
    ///
    /// # Errors
    /// A sentence that names the path and what is wrong with it.
    pub fn new(path: &Path) -> Result<Folder, String> {
        let failed = |reason: &dyn std::fmt::Display| {
            Err(format!("Cannot write into {}: {reason}.", path.display()))
        };
        let found = match fs::metadata(path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => fs::metadata(folder(path)),
            found => found,
        };
        match found {
            Ok(found) if found.is_dir() => Ok(Folder {
                path: path.to_path_buf(),
            }),
            Ok(_) => failed(&"it is no folder"),
            Err(error) => failed(&error),
        }
    }

    /// Writes each file whole or leaves it as it was; other files in the folder stay. What stands there under a file's name is replaced,
    /// also a symbolic link, so that nothing is written outside the folder.
    ///
    /// # Errors
    /// A sentence that names the first file that cannot be written, and the reason.
    pub fn write(&self, files: &[(String, Vec<u8>)]) -> Result<(), String> {
        let failed = |path: &Path, reason: &dyn std::fmt::Display| {
            Err(format!("Cannot write {}: {reason}.", path.display()))
        };
        if let Err(error) = fs::create_dir_all(&self.path) {
            return failed(&self.path, &error);
        }
        for (name, bytes) in files {
            let path = self.path.join(name);
            if !is_plain(name) {
                return failed(&path, &"its name could lead out of the folder");
            }
            if let Err(error) = replace(&path, bytes) {
                return failed(&path, &error);
            }
        }
        Ok(())
    }
}

/// Whether a name is that of a file on every system: letters, digits, dashes and points, a letter or digit first.
fn is_plain(name: &str) -> bool {
    let plain = |letter: char| letter.is_ascii_alphanumeric() || letter == '-' || letter == '.';
    name.starts_with(|letter: char| letter.is_ascii_alphanumeric()) && name.chars().all(plain)
}

fn folder(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// Writes a new file beside the old one and renames it, so that a reader sees the old or the new one, whole.
fn replace(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut name = std::ffi::OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(format!(".{}.part", std::process::id()));
    let part = folder(path).join(name);
    let mut file = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(&part)?;
    let written = (|| {
        file.write_all(bytes)?;
        if let Ok(old) = fs::metadata(path) {
            file.set_permissions(old.permissions())?;
        }
        file.sync_all()?;
        fs::rename(&part, path)
    })();
    if written.is_err() {
        // The part is of no use to anyone; the first error is the one to tell.
        let _ = fs::remove_file(&part);
    }
    written
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn input_is_bounded() {
        let error = read_bounded(io::repeat(b' ')).expect_err("endless");
        assert!(error.to_string().contains("64 MiB"));
        assert_eq!(read_bounded(&b"{}"[..]).expect("short"), b"{}");
    }

    #[test]
    fn a_file_is_replaced_whole_and_leaves_no_part() {
        let folder = std::env::temp_dir().join(format!("sashwright-files-{}", std::process::id()));
        fs::create_dir_all(&folder).expect("a folder");
        let path = folder.join("plan.json");
        for text in ["a longer text", "short"] {
            let target = Target::new(&path).expect("a target");
            target.write(text.as_bytes()).expect("written");
            assert_eq!(fs::read_to_string(&path).expect("read"), text);
        }
        assert_eq!(fs::read_dir(&folder).expect("list").count(), 1);
        fs::remove_dir_all(&folder).expect("cleared");
    }

    #[test]
    fn files_go_into_their_folder_and_nowhere_else() {
        let folder = std::env::temp_dir().join(format!("sashwright-folder-{}", std::process::id()));
        let file = |name: &str| (name.to_string(), b"new".to_vec());
        let into = Folder::new(&folder).expect("a folder that can be made");
        into.write(&[file("quilt.svg"), file("strip-a.svg")])
            .expect("written");
        into.write(&[file("quilt.svg")]).expect("written again");
        assert_eq!(fs::read_dir(&folder).expect("list").count(), 2);
        for bad in ["../x.svg", "/x.svg", "a/b.svg", "", ".", "..", "a\\b.svg"] {
            let refused = into.write(&[file(bad)]).expect_err(bad);
            assert!(refused.contains("lead out"), "{refused}");
        }
        let inner = folder.join("quilt.svg");
        assert!(Folder::new(&inner).is_err_and(|reason| reason.contains("no folder")));
        assert!(Folder::new(&folder.join("no/such")).is_err());
        #[cfg(unix)]
        {
            let outside = folder.join("strip-a.svg");
            fs::write(&outside, "old").expect("written");
            fs::remove_file(&inner).expect("removed");
            std::os::unix::fs::symlink(&outside, &inner).expect("a link");
            into.write(&[file("quilt.svg")]).expect("written");
            assert_eq!(fs::read_to_string(&outside).expect("read"), "old");
        }
        fs::remove_dir_all(&folder).expect("cleared");
    }

    #[test]
    fn a_path_that_cannot_be_written_is_told_before_the_work() {
        assert!(
            Target::new(Path::new("/"))
                .expect_err("folder")
                .contains("folder")
        );
        assert!(Target::new(Path::new("no-such-folder/plan.json")).is_err());
    }
}
