//! Folders in which tests leave files.

use std::fs;
use std::path::PathBuf;

/// A folder of its own for one test, cleared when the test is done.
pub struct Folder(PathBuf);

impl Folder {
    pub fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("sashwright-{name}-{}", std::process::id()));
        fs::create_dir_all(&path).expect("a folder");
        Folder(path)
    }

    /// Where a file of this name lies, or would.
    pub fn path(&self, name: &str) -> String {
        let path = self.0.join(name);
        path.to_str().expect("a path in UTF-8").to_string()
    }

    /// Writes a file, and says where it lies.
    pub fn file(&self, name: &str, text: &str) -> String {
        let path = self.path(name);
        fs::write(&path, text).expect("written");
        path
    }

    /// Names of what stands in an inner folder, in order.
    pub fn names(&self, inner: &str) -> Vec<String> {
        let listed = fs::read_dir(self.0.join(inner)).expect("a list");
        let names = listed.map(|entry| entry.expect("an entry").file_name());
        let mut names: Vec<String> = names
            .map(|name| name.into_string().expect("UTF-8"))
            .collect();
        names.sort_unstable();
        names
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}
