//! Disks with little room: a small file system in memory where one may be mounted, else a bound
//! on the length of files.

use crate::program::Program;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A folder with little room in it.
pub struct SmallDisk {
    folder: PathBuf,
    mounted: bool,
}

impl SmallDisk {
    /// At a folder that is there, with so much room.
    pub fn at(folder: &Path, kib: u64) -> Self {
        let size = format!("size={kib}k");
        let mount = Command::new("mount")
            .args(["-t", "tmpfs", "-o", &size, "wingtide-drill"])
            .arg(folder)
            .output();
        SmallDisk {
            folder: folder.to_owned(),
            mounted: mount.is_ok_and(|m| m.status.success()),
        }
    }

    /// May small disks be mounted here?
    pub fn is_mounted(&self) -> bool {
        self.mounted
    }

    /// Gives it so much room.
    pub fn grow(&self, kib: u64) {
        if self.mounted {
            let size = format!("remount,size={kib}k");
            let grown = Command::new("mount")
                .args(["-o", &size])
                .arg(&self.folder)
                .status();
            assert!(grown.is_ok_and(|g| g.success()), "a small disk can grow");
        }
    }

    /// The program as it runs on this disk. Where nothing could be mounted, no file of it may grow
    /// beyond `kib`, and the signal that tells of that is ignored, so that the write fails.
    pub fn program(&self, program: &Program, kib: u64) -> Program {
        if self.mounted {
            return program.after(&[]);
        }
        // POSIX counts in blocks of 512 bytes
        let bound = format!("trap '' XFSZ; ulimit -f {}; exec \"$@\"", 2 * kib);
        program.after(&["sh", "-c", &bound, "sh"])
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        if self.mounted {
            // nothing runs there any more; where it fails, the system is left with a small mount
            let _ = Command::new("umount").arg(&self.folder).status();
        }
    }
}
