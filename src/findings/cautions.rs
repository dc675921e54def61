//! The cautions of the job. Local law and licensed practice come first; these are the usual ones.

/// The cautions: what each is about, and what to do. Shown before the first connection, in the
/// window and in the terminal.
pub const CAUTIONS: [(&str, &str); 9] = [
    (
        "Airbag.",
        "The wheel carries it. Never open, probe or tap its circuit. Battery off, then wait as the maker says. \
         Leave that work to a licensed technician.",
    ),
    ("Parked.", "Brake on, engine off unless a step needs it. Running only outdoors, in park or neutral."),
    ("Hands off", "horn, cruise and assistance circuits."),
    ("Tap", "and meter at the stereo's connector, not in the wheel."),
    ("Fuse", "at the source, before anything else."),
    ("Check", "against the vehicle's own wiring diagram."),
    ("Laptop", "on its battery while it is connected in the vehicle."),
    ("Never", "while driving."),
    ("The law", "and licensed practice where you live come first."),
];
