//! What the program needs to find in its environment.

/// Names a folder for sockets where none is named, as in a root shell, after `su` or in a container.
/// Graphics drivers ask libwayland for the default display each time that adapters are listed, and
/// libwayland complains on the error stream where `XDG_RUNTIME_DIR` is missing.
///
/// A program cannot change its own environment without risk, so it starts itself anew, in the same
/// process, with the folder that a login would name. That folder need not exist.
pub fn complete() {
    #[cfg(target_os = "linux")]
    {
        use std::os::unix::fs::MetadataExt;
        use std::os::unix::process::CommandExt;
        use std::path::Path;
        use std::process::Command;

        const NAME: &str = "XDG_RUNTIME_DIR";
        if std::env::var_os(NAME).is_some_and(|folder| Path::new(&folder).is_absolute()) {
            return;
        }
        let (Ok(program), Ok(own)) = (std::env::current_exe(), std::fs::metadata("/proc/self"))
        else {
            return;
        };
        let mut given = std::env::args_os();
        let mut anew = Command::new(program);
        if let Some(name) = given.next() {
            anew.arg0(name);
        }
        anew.args(given).env(NAME, format!("/run/user/{}", own.uid()));
        // Returns only where that failed; then the complaint is all that happens.
        drop(anew.exec());
    }
}
