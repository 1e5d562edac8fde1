//! The system's notices of a folder. Where there are none, looking has to do.
use super::Notice;
use super::pending::Sign;
use notify::event::{AccessKind, AccessMode, EventKind, ModifyKind, RenameMode};
use notify::{Config, RecommendedWatcher, RecursiveMode, Watcher as _};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

/// Where notices come in.
pub struct Eyes {
    folder: PathBuf,
    /// Sends for as long as it lives; none where the system has no notices for this folder.
    watcher: Option<RecommendedWatcher>,
    receive: Receiver<notify::Result<notify::Event>>,
}

impl Eyes {
    /// Begins to listen. A folder that the system cannot watch is no error: it is looked at.
    pub fn open(folder: &Path, recursive: bool) -> Self {
        let (send, receive) = channel();
        let hand_on = move |event| {
            // Nobody listens any more: that is the end of it.
            let _ = send.send(event);
        };
        // Linked folders are not gone into; a loop of links would have no end.
        let config = Config::default().with_follow_symlinks(false);
        let mode = if recursive { RecursiveMode::Recursive } else { RecursiveMode::NonRecursive };
        let mut watcher = RecommendedWatcher::new(hand_on, config).ok();
        if watcher.as_mut().is_some_and(|w| w.watch(folder, mode).is_err()) {
            watcher = None;
        }
        Self { folder: folder.to_path_buf(), watcher, receive }
    }

    /// Listens to nothing.
    pub fn closed(folder: &Path) -> Self {
        Self { folder: folder.to_path_buf(), watcher: None, receive: channel().1 }
    }

    /// Waits for notices, no longer than `most`; gives all that have come.
    pub fn wait(&self, most: Duration) -> Vec<Notice> {
        let mut notices = Vec::new();
        if self.watcher.is_none() {
            std::thread::sleep(most);
            return notices;
        }
        let mut next = self.receive.recv_timeout(most).ok();
        while let Some(event) = next {
            match event {
                Err(_) => notices.push(Notice::Everything),
                Ok(event) if event.need_rescan() => notices.push(Notice::Everything),
                Ok(event) => notices.extend(self.notices(event)),
            }
            next = self.receive.try_recv().ok();
        }
        notices
    }

    fn notices(&self, event: notify::Event) -> Vec<Notice> {
        let Some(sign) = sign(&event.kind) else { return Vec::new() };
        let notice = |path: PathBuf| match (path == self.folder, sign) {
            (false, _) => Some(Notice::File(path, sign)),
            (true, Sign::Moved | Sign::Found) => Some(Notice::Folder),
            (true, _) => None,
        };
        event.paths.into_iter().filter_map(notice).collect()
    }
}

/// What a notice says of its file; `None` for what changes nothing, such as our own reading.
fn sign(kind: &EventKind) -> Option<Sign> {
    match kind {
        EventKind::Access(AccessKind::Close(AccessMode::Write)) => Some(Sign::Closed),
        EventKind::Access(_) => None,
        // That a file has both lost a name and got one is said after each of the two has been said.
        EventKind::Modify(ModifyKind::Name(RenameMode::Both)) => None,
        EventKind::Modify(ModifyKind::Name(RenameMode::From)) => Some(Sign::Found),
        EventKind::Modify(ModifyKind::Name(_)) => Some(Sign::Moved),
        EventKind::Modify(ModifyKind::Metadata(_)) => Some(Sign::Permitted),
        EventKind::Remove(_) => Some(Sign::Found),
        EventKind::Create(_) | EventKind::Modify(_) | EventKind::Any | EventKind::Other => {
            Some(Sign::Written)
        }
    }
}
