//! A pseudo-terminal: what another program opens by its path as a serial port.

#![expect(unsafe_code, reason = "pseudo-terminals are the C library's")]

use std::ffi::CStr;
use std::io;

pub(crate) struct Pty {
    ours: i32,
    theirs: i32,
    pub(crate) path: String,
}

impl Pty {
    pub(crate) fn open() -> io::Result<Self> {
        let (mut ours, mut theirs) = (0, 0);
        let mut name = [0 as libc::c_char; 128];
        // SAFETY: the C library fills what it is given; the name is far longer than any.
        let opened = unsafe {
            libc::openpty(
                &raw mut ours,
                &raw mut theirs,
                name.as_mut_ptr(),
                std::ptr::null(),
                std::ptr::null(),
            )
        };
        if opened < 0 {
            return Err(io::Error::last_os_error());
        }
        // SAFETY: both are open; raw, or it would echo and change line ends. The other side stays open
        // here, so that ours is not at its end between two clients.
        let path = unsafe {
            let mut terminal: libc::termios = std::mem::zeroed();
            libc::tcgetattr(theirs, &raw mut terminal);
            libc::cfmakeraw(&raw mut terminal);
            libc::tcsetattr(theirs, libc::TCSANOW, &raw const terminal);
            libc::fcntl(ours, libc::F_SETFL, libc::O_NONBLOCK);
            CStr::from_ptr(name.as_ptr()).to_string_lossy().into_owned()
        };
        Ok(Self { ours, theirs, path })
    }

    /// What has come; nothing where nothing has.
    pub(crate) fn read(&self, buffer: &mut [u8]) -> usize {
        // SAFETY: into a buffer of this length.
        let count = unsafe { libc::read(self.ours, buffer.as_mut_ptr().cast(), buffer.len()) };
        usize::try_from(count).unwrap_or(0)
    }

    /// Writes as much as fits, and says how much that was.
    pub(crate) fn write(&self, bytes: &[u8]) -> usize {
        // SAFETY: from a buffer of this length.
        let count = unsafe { libc::write(self.ours, bytes.as_ptr().cast(), bytes.len()) };
        usize::try_from(count).unwrap_or(0)
    }
}

impl Drop for Pty {
    fn drop(&mut self) {
        // SAFETY: opened by us, closed once.
        unsafe {
            libc::close(self.ours);
            libc::close(self.theirs);
        }
    }
}
