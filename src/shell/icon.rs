//! The window's icon, drawn pixel by pixel as `assets/desktop/spokewire.svg` is, so that no image has to
//! be decoded at the start.

/// Points to a side, as in the drawing.
const SIDE: f32 = 64.0;
/// The ground and the line, as in the dark look.
const GROUND: [f32; 3] = [16.0, 22.0, 21.0];
const LINE: [f32; 3] = [242.0, 239.0, 230.0];

/// The icon.
pub(super) fn icon() -> egui::IconData {
    let side = SIDE as u32;
    let mut rgba = Vec::with_capacity((side * side * 4) as usize);
    for y in 0..side {
        for x in 0..side {
            let (x, y) = (x as f32 + 0.5, y as f32 + 0.5);
            let line = covered(line_off(x, y));
            let mixed = GROUND.iter().zip(LINE).map(|(ground, ink)| (ground + (ink - ground) * line) as u8);
            rgba.extend(mixed);
            rgba.push((255.0 * covered(ground_off(x, y))) as u8);
        }
    }
    egui::IconData { rgba, width: side, height: side }
}

/// How much of a pixel is covered, by how far its middle lies outside.
fn covered(off: f32) -> f32 {
    (0.5 - off).clamp(0.0, 1.0)
}

/// How far a point lies outside the rounded ground.
fn ground_off(x: f32, y: f32) -> f32 {
    const RADIUS: f32 = 8.0;
    let out = |v: f32| ((v - SIDE / 2.0).abs() - (SIDE / 2.0 - RADIUS)).max(0.0);
    out(x).hypot(out(y)) - RADIUS
}

/// How far a point lies outside the wheel, its hub, its spokes and the wire.
fn line_off(x: f32, y: f32) -> f32 {
    const HALF: f32 = 2.0;
    let from_hub = (x - 32.0).hypot(y - 28.0);
    let rim = (from_hub - 18.0).abs() - HALF;
    let hub = from_hub - 6.0;
    let bar = |off: f32, along: f32, from: f32, to: f32| (off.abs() - HALF).max(from - along).max(along - to);
    let spokes = bar(y - 28.0, x, 14.0, 26.0).min(bar(y - 28.0, x, 38.0, 50.0));
    rim.min(hub).min(spokes).min(bar(x - 32.0, y, 34.0, SIDE))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_icon_is_a_wheel_with_a_wire_on_a_rounded_ground() {
        let icon = icon();
        assert_eq!(icon.rgba.len(), (icon.width * icon.height * 4) as usize);
        let at = |x: u32, y: u32| &icon.rgba[((y * icon.width + x) * 4) as usize..][..4];
        assert_eq!(at(0, 0)[3], 0, "a corner is round");
        assert_eq!(at(32, 28), [242, 239, 230, 255], "the hub");
        assert_eq!(at(14, 28), [242, 239, 230, 255], "the rim");
        assert_eq!(at(32, 63), [242, 239, 230, 255], "the wire leaves below");
        assert_eq!(at(24, 20), [16, 22, 21, 255], "between hub and rim");
    }
}
