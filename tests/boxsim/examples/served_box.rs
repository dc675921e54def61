//! The box's program in the simulator behind a pseudo-terminal, in real time, on the demo van's wheel:
//! prints the path to open. A button is pressed every two seconds; `rest` as the argument presses none.

use std::time::Duration;

use boxsim::{Chip, Contact, HZ, Ladder, Order, Supply, TRUE_TIMING, serve};

fn main() -> std::io::Result<()> {
    let presses = std::env::args().nth(1).as_deref() != Some("rest");
    let ladder = Ladder::demo(Supply::default(), 2008);
    let (wheel, again) = (ladder.clone(), ladder.clone());
    let served = serve(
        move || {
            let mut chip = Chip::new(&boxsim::firmware());
            chip.power(wheel);
            chip
        },
        move |flash, eeprom| {
            let mut chip = Chip::boot(flash, 0, Some(eeprom), TRUE_TIMING);
            chip.power(again.clone());
            chip
        },
    )?;
    println!("{}", served.path);
    for button in (0..Ladder::DEMO_OHM.len()).cycle() {
        std::thread::sleep(Duration::from_secs(2));
        let wheel = ladder.clone();
        if presses {
            let order =
                move |chip: &mut Chip| wheel.press(button, Contact::Firm(6.0), chip.now() + HZ / 100, 300);
            served.order(Order::Do(Box::new(order)));
        }
    }
    Ok(())
}
