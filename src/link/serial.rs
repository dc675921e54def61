//! Real serial ports. The only file that names serialport; without the feature `serial` there are
//! no ports, and opening one says so. Knows nothing of what comes over them.

use super::message::PortInfo;
use super::port::{BytePort, OpenError, Ports};

/// The serial ports of this machine.
#[derive(Clone, Copy, Debug, Default)]
pub struct SystemPorts;

#[cfg(not(feature = "serial"))]
impl Ports for SystemPorts {
    fn list(&mut self) -> Vec<PortInfo> {
        vec![]
    }

    fn is_there(&self, _path: &str) -> bool {
        true
    }

    fn open(&mut self, path: &str, _rate: u32) -> Result<Box<dyn BytePort>, OpenError> {
        Err(OpenError::NotBuilt { path: path.to_owned() })
    }
}

#[cfg(feature = "serial")]
mod system {
    use std::io;
    use std::path::Path;
    use std::time::Duration;

    use serialport::{ClearBuffer, ErrorKind, SerialPort, SerialPortType, UsbPortInfo};

    use super::super::port::READ_WAIT;
    use super::{BytePort, OpenError, PortInfo, Ports, SystemPorts};

    /// How long the modem lines stay off for a reset.
    const RESET_HOLD: Duration = Duration::from_millis(60);

    /// Where Linux lists its terminals. serialport panics where it is missing, as in some
    /// containers.
    const LINUX_TERMINALS: &str = "/sys/class/tty";

    impl Ports for SystemPorts {
        fn list(&mut self) -> Vec<PortInfo> {
            if cfg!(target_os = "linux") && !Path::new(LINUX_TERMINALS).is_dir() {
                return vec![];
            }
            let mut ports: Vec<_> = serialport::available_ports()
                .unwrap_or_default()
                .into_iter()
                .map(|port| PortInfo { path: port.port_name, about: about(&port.port_type) })
                .collect();
            ports.sort_by(|a, b| a.path.cmp(&b.path));
            ports.dedup_by(|a, b| a.path == b.path);
            ports
        }

        fn is_there(&self, path: &str) -> bool {
            // Elsewhere a port's name is not a path in the file system.
            !cfg!(unix) || Path::new(path).exists()
        }

        fn open(&mut self, path: &str, rate: u32) -> Result<Box<dyn BytePort>, OpenError> {
            if cfg!(unix) && Path::new(path).metadata().is_ok_and(|at| at.is_file() || at.is_dir()) {
                return Err(OpenError::NotAPort { path: path.to_owned() });
            }
            let mut port = serialport::new(path, rate)
                .timeout(READ_WAIT)
                .open()
                .map_err(|error| explained(path, &error))?;
            // Boards with USB of their own send only while these are set. Pseudo-terminals have no
            // such lines and fail with ENOTTY, which is no reason not to read them.
            let _ = port.write_data_terminal_ready(true);
            let _ = port.write_request_to_send(true);
            Ok(Box::new(Opened(port)))
        }
    }

    struct Opened(Box<dyn SerialPort>);

    impl io::Read for Opened {
        fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
            self.0.read(buffer)
        }
    }

    impl io::Write for Opened {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.0.write(bytes)
        }

        fn flush(&mut self) -> io::Result<()> {
            self.0.flush()
        }
    }

    impl BytePort for Opened {
        fn set_rate(&mut self, rate: u32) -> io::Result<()> {
            self.0.set_baud_rate(rate).map_err(io::Error::from)
        }

        fn discard_input(&mut self) {
            // What stays is heard at the wrong rate and counts against it; nothing else is lost.
            let _ = self.0.clear(ClearBuffer::Input);
        }

        fn pulse_reset(&mut self) -> io::Result<()> {
            // The board's capacitor turns the edge into a short reset; it needs a while to charge.
            let lines = |port: &mut dyn SerialPort, on: bool| {
                port.write_data_terminal_ready(on).and_then(|()| port.write_request_to_send(on))
            };
            let moved = lines(&mut *self.0, false).and_then(|()| {
                std::thread::sleep(RESET_HOLD);
                lines(&mut *self.0, true)
            });
            match moved {
                Err(error) if has_no_lines(&error) => Ok(()),
                moved => moved.map_err(io::Error::from),
            }
        }
    }

    /// Whether this is what the system says of a port without modem lines, such as a pseudo-terminal:
    /// ENOTTY or EINVAL, which serialport hands on as their words alone.
    fn has_no_lines(error: &serialport::Error) -> bool {
        ["typewriter", "Invalid argument"].iter().any(|words| error.description.contains(words))
    }

    fn explained(path: &str, error: &serialport::Error) -> OpenError {
        let path = path.to_owned();
        let exists = SystemPorts.is_there(&path);
        match error.kind() {
            ErrorKind::Io(io::ErrorKind::NotFound) => OpenError::Missing { path },
            ErrorKind::Io(io::ErrorKind::PermissionDenied) => {
                OpenError::Denied { group: group_of(&path), path }
            }
            // serialport says this of a port that is locked or held exclusively; outside Unix
            // also of one that is missing.
            ErrorKind::NoDevice if exists => OpenError::Busy { path },
            ErrorKind::NoDevice => OpenError::Missing { path },
            _ if error.description.contains("typewriter") => OpenError::NotAPort { path },
            _ => OpenError::Other { path, why: error.description.trim_end_matches('.').to_owned() },
        }
    }

    /// The name of the group that owns the path.
    #[cfg(unix)]
    fn group_of(path: &str) -> Option<String> {
        use std::os::unix::fs::MetadataExt as _;

        let id = Path::new(path).metadata().ok()?.gid();
        let groups = std::fs::read_to_string("/etc/group").ok()?;
        group_named(&groups, id)
    }

    #[cfg(not(unix))]
    fn group_of(_path: &str) -> Option<String> {
        None
    }

    /// The name of a group in the text of `/etc/group`: `name:password:id:members` a line.
    #[cfg(unix)]
    fn group_named(groups: &str, id: u32) -> Option<String> {
        groups.lines().find_map(|line| {
            let mut fields = line.split(':');
            let name = fields.next()?;
            (fields.nth(1)?.parse() == Ok(id)).then(|| name.to_owned())
        })
    }

    fn about(kind: &SerialPortType) -> String {
        match kind {
            SerialPortType::UsbPort(usb) => about_usb(usb),
            SerialPortType::PciPort => "built in".to_owned(),
            SerialPortType::BluetoothPort => "Bluetooth".to_owned(),
            SerialPortType::Unknown => "kind unknown".to_owned(),
        }
    }

    /// The maker's text and the numbers, without what a device might put in its text to upset a
    /// screen.
    fn about_usb(usb: &UsbPortInfo) -> String {
        let plain = |text: &Option<String>| -> String {
            let text = text.as_deref().unwrap_or_default().replace('_', " ");
            text.chars().filter(|c| !c.is_control()).take(60).collect::<String>().trim().to_owned()
        };
        let (maker, product) = (plain(&usb.manufacturer), plain(&usb.product));
        let mut words = vec!["USB".to_owned()];
        if !product.starts_with(&maker) {
            words.push(maker);
        }
        words.push(product);
        words.push(format!("{:04x}:{:04x}", usb.vid, usb.pid));
        words.retain(|word| !word.is_empty());
        words.join(" ")
    }

    #[cfg(test)]
    mod tests {
        use super::*;

        fn usb(manufacturer: Option<&str>, product: Option<&str>) -> String {
            about(&SerialPortType::UsbPort(UsbPortInfo {
                vid: 0x12ab,
                pid: 0x00ef,
                serial_number: None,
                manufacturer: manufacturer.map(str::to_owned),
                product: product.map(str::to_owned),
            }))
        }

        #[test]
        fn a_usb_port_says_maker_product_and_numbers() {
            assert_eq!(usb(Some("Maker"), Some("Bridge 3")), "USB Maker Bridge 3 12ab:00ef");
            assert_eq!(usb(Some("Maker"), Some("Maker_Bridge")), "USB Maker Bridge 12ab:00ef");
            assert_eq!(usb(None, None), "USB 12ab:00ef");
            assert_eq!(usb(None, Some("a\u{1b}[31m\nb")), "USB a[31mb 12ab:00ef");
        }

        #[cfg(unix)]
        #[test]
        fn a_pseudo_terminal_has_nothing_to_reset_and_that_is_no_failure() {
            let (_near, far) = serialport::TTYPort::pair().unwrap();
            let path = far.name().unwrap();
            drop(far);
            let mut port = SystemPorts.open(&path, 115_200).unwrap();
            port.pulse_reset().unwrap();
            assert!(!has_no_lines(&serialport::Error::new(ErrorKind::Unknown, "Input/output error")));
        }

        #[test]
        fn paths_that_are_no_ports_are_told_apart() {
            let at = |path: &str| SystemPorts.open(path, 9_600).err();
            let path = |path: &str| path.to_owned();
            assert_eq!(at("/dev/ttyNONE"), Some(OpenError::Missing { path: path("/dev/ttyNONE") }));
            assert_eq!(at("/dev/null"), Some(OpenError::NotAPort { path: path("/dev/null") }));
            assert_eq!(at("/"), Some(OpenError::NotAPort { path: path("/") }));
            assert!(at("").is_some());
        }

        #[test]
        fn a_refused_port_names_the_group_that_may_open_it() {
            let groups = "root:x:0:\ndialout:x:20:ada,grace\nbroken line\nnobody:x:65534:\n";
            assert_eq!(group_named(groups, 20).as_deref(), Some("dialout"));
            assert_eq!(group_named(groups, 21), None);
            let denied = serialport::Error::new(ErrorKind::Io(io::ErrorKind::PermissionDenied), "no");
            assert!(matches!(explained("/dev/null", &denied), OpenError::Denied { .. }));
        }

        #[test]
        fn the_list_can_be_asked_for_on_any_machine() {
            let paths: Vec<_> = SystemPorts.list().into_iter().map(|port| port.path).collect();
            assert!(paths.is_sorted(), "{paths:?}");
        }
    }
}
