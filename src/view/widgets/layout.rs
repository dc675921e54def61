//! Where the window's parts lie, from its size alone: strip, rail, head, work, acting row, and the
//! nodes on the wire. A pure function. Knows no station.

use egui::{Pos2, Rect, Vec2, pos2, vec2};

use crate::view::theme::{control, space};

/// Width classes, in points (window pixels over scale).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum WidthClass {
    /// Under 900: regions stack and scroll, segments become drop-downs.
    Narrow,
    /// 900 to 1179: the rail shows nodes alone, side columns fold under.
    Medium,
    /// 1180 and up: everything as drawn.
    Wide,
}

impl WidthClass {
    /// The class of a window this wide.
    #[must_use]
    pub fn of(width: f32) -> Self {
        if width >= 1180.0 {
            Self::Wide
        } else if width >= 900.0 {
            Self::Medium
        } else {
            Self::Narrow
        }
    }
}

/// From here on the plots take the extra room (4K at 200 % is 1920 × 1080 points).
const LARGE: Vec2 = vec2(1600.0, 900.0);
/// Height of the strip.
const STRIP: f32 = 52.0;
/// Distance of two stations where there is height enough.
const PITCH: f32 = 86.0;
/// Most stations the rail is laid out for.
pub const STATIONS: usize = 7;

/// Where everything lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layout {
    /// The width class.
    pub class: WidthClass,
    /// The whole window.
    pub window: Rect,
    /// Top strip, over the whole width.
    pub strip: Rect,
    /// Rail, left, under the strip.
    pub rail: Rect,
    /// Head: title and views, under the strip, right of the rail. The tap runs along its foot.
    pub head: Rect,
    /// Everything under the head inside the margins: notices, work and acting row.
    pub content: Rect,
    /// The work without the acting row.
    pub work: Rect,
    /// The acting row, pinned at the foot of the content.
    pub acting: Rect,
    /// Outer margin.
    pub margin: f32,
    /// The wire's x.
    pub wire_x: f32,
}

impl Layout {
    /// Lays out a window of this size with its corner at the origin.
    #[must_use]
    pub fn of(size: Vec2) -> Self {
        Self::within(Rect::from_min_size(Pos2::ZERO, size))
    }

    /// Lays out a window that fills `window`.
    #[must_use]
    pub fn within(window: Rect) -> Self {
        let class = WidthClass::of(window.width());
        let (rail_wide, head_high, margin, wire, gap, foot, act) = match class {
            WidthClass::Wide => (228.0, 56.0, space::MARGIN, 36.0, 16.0, 12.0, control::ACTING),
            WidthClass::Medium => (64.0, 48.0, space::MARGIN_COMPACT, 32.0, 12.0, 12.0, control::ACTING),
            WidthClass::Narrow => (64.0, 40.0, space::MARGIN_COMPACT, 32.0, 10.0, 10.0, control::NOTICE),
        };
        let (l, t, r) = (window.left(), window.top(), window.right());
        let strip = Rect::from_min_size(window.min, vec2(window.width(), STRIP));
        let b = window.bottom().max(strip.bottom() + head_high + gap + act + foot);
        let rail = Rect::from_min_max(pos2(l, strip.bottom()), pos2(l + rail_wide, b));
        let head = Rect::from_min_max(rail.right_top(), pos2(r.max(rail.right()), t + STRIP + head_high));
        let left = rail.right() + margin;
        let right = (r - margin).max(left);
        let content = Rect::from_min_max(pos2(left, head.bottom() + gap), pos2(right, b - foot));
        let acting = Rect::from_min_max(pos2(left, content.bottom() - act), content.max);
        let work = Rect::from_min_max(content.min, pos2(right, (acting.top() - gap).max(content.top())));
        Self { class, window, strip, rail, head, content, work, acting, margin, wire_x: l + wire }
    }

    /// Whether the plots should take the extra room of a large screen.
    #[must_use]
    pub fn is_large(&self) -> bool {
        self.window.width() >= LARGE.x && self.window.height() >= LARGE.y
    }

    /// Whether the rail shows names and lines of truth beside the nodes.
    #[must_use]
    pub fn rail_has_words(&self) -> bool {
        self.class == WidthClass::Wide
    }

    /// Distance of two stations along the wire.
    #[must_use]
    pub fn pitch(&self) -> f32 {
        // Room kept for the stereo's plug and the cautions at the foot.
        let foot = if self.rail_has_words() { 140.0 } else { 118.0 };
        ((self.rail.height() - foot) / 7.0).clamp(24.0, PITCH)
    }

    /// Centre of station `index`'s node.
    #[must_use]
    pub fn node(&self, index: usize) -> Pos2 {
        let below = f32::from(u16::try_from(index).unwrap_or(u16::MAX));
        pos2(self.wire_x, self.rail.top() + self.pitch() * (0.62 + below))
    }

    /// Where the wire ends in the stereo's plug.
    #[must_use]
    pub fn plug(&self) -> Pos2 {
        self.node(STATIONS - 1) + vec2(0.0, self.pitch() * 0.86)
    }

    /// What a pointer may hit for station `index`: its share of the rail.
    #[must_use]
    pub fn station(&self, index: usize) -> Rect {
        let y = self.node(index).y;
        let half = (self.pitch() / 2.0).min(34.0);
        Rect::from_min_max(pos2(self.rail.left() + 4.0, y - half), pos2(self.rail.right() - 4.0, y + half))
    }

    /// The cautions' place at the foot of the rail.
    #[must_use]
    pub fn cautions(&self) -> Rect {
        let up = if self.rail_has_words() { 26.0 } else { 20.0 };
        let y = self.rail.bottom() - up;
        Rect::from_min_max(pos2(self.rail.left() + 4.0, y - 17.0), pos2(self.rail.right() - 4.0, y + 17.0))
    }

    /// The tap from station `index`'s node to the line under the head, corner by corner; wires bend
    /// by chamfers of 8.
    #[must_use]
    pub fn tap(&self, index: usize) -> Vec<Pos2> {
        const C: f32 = crate::view::theme::stroke::CHAMFER;
        let from = self.node(index);
        let (wire, border, line) = (self.wire_x, self.rail.right(), self.head.bottom());
        let drop: f32 = if self.rail_has_words() { 31.0 } else { 24.0 };
        // Never down to the next node's ring.
        let run = from.y + drop.min(self.pitch() - 4.0).max(16.0 + C);
        let end = pos2(self.content.right(), line);
        let apart = (run - line).abs();
        let mut points = vec![pos2(wire, from.y + 16.0), pos2(wire, run - C), pos2(wire + C, run)];
        if apart < 40.0 {
            // Too close for two chamfers: one slope through the border.
            points.extend([pos2(border - apart / 2.0, run), pos2(border + apart / 2.0, line), end]);
        } else {
            let down = if run > line { 1.0 } else { -1.0 };
            points.extend([
                pos2(border - C, run),
                pos2(border, run - C * down),
                pos2(border, line + C * down),
                pos2(border + C, line),
                end,
            ]);
        }
        points
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZES: [Vec2; 6] = [
        vec2(1280.0, 800.0),
        vec2(1024.0, 640.0),
        vec2(640.0, 400.0),
        vec2(1920.0, 1080.0),
        vec2(1180.0, 640.0),
        vec2(899.0, 500.0),
    ];

    #[test]
    fn the_window_at_1280_by_800_is_laid_out_as_drawn() {
        let l = Layout::of(vec2(1280.0, 800.0));
        assert_eq!(l.class, WidthClass::Wide);
        assert_eq!(l.strip, Rect::from_min_size(Pos2::ZERO, vec2(1280.0, 52.0)));
        assert_eq!(l.rail, Rect::from_min_size(pos2(0.0, 52.0), vec2(228.0, 748.0)));
        assert_eq!(l.head, Rect::from_min_size(pos2(228.0, 52.0), vec2(1052.0, 56.0)));
        assert_eq!(l.content, Rect::from_min_size(pos2(252.0, 124.0), vec2(1004.0, 664.0)));
        assert_eq!((l.acting.top(), l.acting.height()), (742.0, 46.0));
        assert_eq!(l.wire_x, 36.0);
        assert!((l.node(0).y - 105.0).abs() < 1.0, "{:?}", l.node(0));
        assert!((l.node(1).y - l.node(0).y - 86.0).abs() < 1.0);
        let tap = l.tap(2);
        assert_eq!(tap.last(), Some(&pos2(1256.0, 108.0)));
    }

    #[test]
    fn medium_and_narrow_windows_keep_a_rail_of_nodes_alone() {
        let medium = Layout::of(vec2(1024.0, 640.0));
        assert_eq!(
            (medium.class, medium.rail.width(), medium.head.height()),
            (WidthClass::Medium, 64.0, 48.0)
        );
        assert_eq!((medium.content.left(), medium.content.right()), (84.0, 1004.0));
        assert_eq!(medium.acting.top(), 582.0);
        let narrow = Layout::of(vec2(640.0, 400.0));
        assert_eq!(
            (narrow.class, narrow.rail.width(), narrow.head.height()),
            (WidthClass::Narrow, 64.0, 40.0)
        );
        assert_eq!((narrow.content.left(), narrow.content.right()), (84.0, 620.0));
        assert_eq!((narrow.acting.top(), narrow.acting.height()), (348.0, 42.0));
        assert!(!narrow.rail_has_words() && Layout::of(vec2(1920.0, 1080.0)).is_large());
    }

    #[test]
    fn no_two_parts_overlap_at_any_size() {
        for size in SIZES {
            let l = Layout::of(size);
            let parts = [
                ("strip", l.strip),
                ("rail", l.rail),
                ("head", l.head),
                ("work", l.work),
                ("acting", l.acting),
            ];
            for (i, (name, a)) in parts.iter().enumerate() {
                assert!(a.width() > 0.0 && a.height() > 0.0, "{name} is empty at {size:?}: {a:?}");
                assert!(l.window.contains_rect(*a), "{name} leaves the window at {size:?}");
                for (other, b) in &parts[i + 1..] {
                    let shared = a.intersect(*b);
                    assert!(
                        shared.width() <= 0.0 || shared.height() <= 0.0,
                        "{name} and {other} overlap at {size:?}: {shared:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn stations_plug_and_cautions_stand_apart_on_the_rail() {
        for size in SIZES {
            let l = Layout::of(size);
            for i in 0..STATIONS - 1 {
                assert!(l.station(i).bottom() <= l.station(i + 1).top() + 0.01, "{size:?}, station {i}");
                assert!(l.station(i).height() >= 32.0, "{size:?}: {}", l.station(i).height());
            }
            // The plug is 30 points long.
            assert!(l.plug().y >= l.node(6).y + 11.0, "{size:?}");
            assert!(
                l.plug().y + 30.0 <= l.cautions().top() + 1.0,
                "{size:?}: {:?} {:?}",
                l.plug(),
                l.cautions()
            );
            assert!(l.cautions().height() >= control::TARGET);
        }
    }

    #[test]
    fn the_tap_bends_by_no_more_than_45_degrees_and_never_turns_back() {
        for size in SIZES {
            let l = Layout::of(size);
            for i in 0..STATIONS {
                let points = l.tap(i);
                for pair in points.windows(2) {
                    let d = pair[1] - pair[0];
                    assert!(d.x >= -0.01, "{size:?}, station {i} runs back: {points:?}");
                    let even = d.x.abs() < 0.01 || d.y.abs() < 0.01 || (d.x.abs() - d.y.abs()).abs() < 0.01;
                    assert!(even, "{size:?}, station {i}: {points:?}");
                }
                assert!(points.iter().all(|p| l.window.contains(*p)), "{size:?}, station {i}");
            }
        }
    }

    #[test]
    fn a_window_too_small_for_anything_still_gives_sound_rectangles() {
        for size in [vec2(0.0, 0.0), vec2(100.0, 100.0), vec2(300.0, 90.0)] {
            let l = Layout::of(size);
            for rect in [l.strip, l.rail, l.head, l.content, l.work, l.acting] {
                assert!(
                    rect.width() >= 0.0 && rect.height() >= 0.0 && rect.is_finite(),
                    "{size:?}: {rect:?}"
                );
            }
        }
    }
}
