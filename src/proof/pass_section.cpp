#include "proof/pass_section.hpp"

#include "finish/course.hpp"
#include "finish/move_left.hpp"
#include "finish/steady.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numbers>

namespace restep::proof {

namespace {

using finish::Segment;
using geometry::Vec2;

// An element of the intended contour at offset d, of a stack whose points have laws.
Segment element_at(IntendedSurface const& surface, std::size_t contour, std::size_t j, double d) {
  Segment element = surface.stack.levels.front().contours[contour].segments[j];
  element.from = surface.offsets.points[contour][j].at(d);
  element.to = surface.offsets.points[contour][j + 1].at(d);
  if (element.arc) element.centre = surface.offsets.centres[contour][j].at(d);
  return element;
}

// True when a section line passes an element well within its ends.
bool passes(SectionLine const& line, double d, Segment const& s) {
  double const within =
      std::min(0.05, 0.04 * s.length()); // mm; digits move the ends, at acute corners the most
  Vec2 const p = line.at + d * line.away;
  if (!s.arc) {
    Vec2 const along = normalized(s.to - s.from);
    return dot(along, p - s.from) >= within && dot(along, s.to - p) >= within;
  }
  double const slack = within / s.radius();
  double angle = std::atan2(cross(s.from - s.centre, p - s.centre), dot(s.from - s.centre, p - s.centre)) *
                 (s.ccw ? 1 : -1);
  if (angle < 0) angle += 2 * std::numbers::pi;
  return angle >= slack && angle <= s.length() / s.radius() - slack;
}

// How the curve stands off its chord at a share of it: to the right where the course turns left.
Vec2 bulge(Segment const& chord, double bend, double share) {
  if (bend == 0 || share <= 0 || share >= 1) return {};
  Vec2 const along = chord.to - chord.from;
  return -0.5 * share * (1 - share) * bend * left_normal(along);
}

// Where the curve goes at a share of its chord: it turns by the bend from the one end to the other.
Vec2 direction_of_curve(Segment const& s, double bend, double share) {
  Vec2 const along = s.direction_at_share(share);
  return normalized(along + std::tan(bend * (share - 0.5)) * left_normal(along));
}

class Sectioning {
public:
  Sectioning(IntendedSurface const& surface, std::vector<std::vector<Segment>> const& bases)
      : surface_(surface)
      , bases_(bases) {
    auto const [least, most] = std::minmax_element(surface_.offsets.d.begin(), surface_.offsets.d.end());
    least_d_ = *least;
    most_d_ = *most;
    if (!surface_.fit.extended_to) return;
    // Levels above the program's first.
    double const above = surface_.fit.sections.front().meridian.at(0).x;
    least_d_ = std::min(least_d_, above);
    most_d_ = std::max(most_d_, above);
  }

  std::vector<Section> run() {
    for (std::size_t c = 0; c < bases_.size(); ++c) {
      bool const closed = surface_.stack.levels.front().contours[c].closed;
      std::vector<double> const bends = finish::bends_of(bases_[c], closed);
      std::vector<Part> const parts = has_laws() ? std::vector<Part>(bases_[c].size()) : lasting(c, closed);
      for (std::size_t j = 0; j < bases_[c].size(); ++j)
        if (!surface_.offsets.vanishes(c, j)) across(c, j, bends[j], parts[j]); // else it leads into a corner
    }
    return std::move(all_);
  }

private:
  static constexpr double shortest = 0.02; // mm; less has no normal of its own at the program's digits
  static constexpr double shares[] = {0.05, 0.5, 0.95};

  bool has_laws() const { return !surface_.offsets.points.empty(); }

  // Shares of an element between which its normals meet it at every offset.
  struct Part {
    double from = 0, to = 1;
  };

  // Of a contour without laws: a corner at a chord's end cuts it shorter and shorter, or takes it away.
  std::vector<Part> lasting(std::size_t c, bool closed) const {
    std::vector<Segment> const& base = bases_[c];
    std::vector<Part> parts(base.size());
    for (double const d : {least_d_, most_d_}) {
      if (d == 0) continue;
      auto const moved = finish::move_left(base, closed, side(surface_) * d, 0);
      if (!moved) continue;
      std::vector<bool> lasts(base.size(), false);
      for (std::size_t i = 0; i < moved->segments.size(); ++i) {
        Segment const& s = moved->segments[i];
        std::size_t const j = moved->origin[i];
        lasts[j] = true;
        if (s.arc) continue; // keeps its directions, or has laws
        Vec2 const along = base[j].to - base[j].from;
        auto const share = [&](Vec2 p) { return dot(p - base[j].from, along) / dot(along, along); };
        parts[j].from = std::max(parts[j].from, share(s.from));
        parts[j].to = std::min(parts[j].to, share(s.to));
      }
      for (std::size_t j = 0; j < base.size(); ++j)
        if (!lasts[j]) parts[j] = {1, 0};
    }
    return parts;
  }

  void across(std::size_t c, std::size_t j, double bend, Part const& part) {
    Segment const& s = bases_[c][j];
    bool everywhere = s.length() * (part.to - part.from) >= shortest;
    if (everywhere)
      for (double const place : shares) {
        double const share = part.from + place * (part.to - part.from);
        everywhere = add(c, j, s, share, bend, 0) && everywhere;
      }
    if (everywhere || !has_laws()) return;
    for (double const d :
         {0.5 * (least_d_ + most_d_), std::abs(least_d_) > std::abs(most_d_) ? least_d_ : most_d_})
      if (Segment const there = element_at(surface_, c, j, d); there.length() >= shortest)
        for (double const share : shares)
          add(c, j, there, share, 0, d);
  }

  // A section at a share of an element that stands at offset d. False where the element does not pass it at
  // every offset.
  bool add(std::size_t c, std::size_t j, Segment const& s, double share, double bend, double d) {
    Vec2 const away = side(surface_) * left_normal(direction_of_curve(s, bend, share));
    Section section{c, j, {s.point_at(share) + bulge(s, bend, share) - d * away, away}};
    if (has_laws())
      for (double const end : {least_d_, most_d_})
        section.everywhere = section.everywhere && passes_at(surface_, section, end);
    all_.push_back(section);
    return section.everywhere;
  }

  IntendedSurface const& surface_;
  std::vector<std::vector<Segment>> const& bases_;
  double least_d_ = 0, most_d_ = 0; // of the levels
  std::vector<Section> all_;
};

} // namespace

double side(IntendedSurface const& surface) {
  return surface.offsets.away == 0 ? 1 : surface.offsets.away;
}

std::vector<Segment> base_of(IntendedSurface const& surface, std::size_t contour) {
  finish::Contour const& first = surface.stack.levels.front().contours[contour];
  if (surface.offsets.points.empty()) return finish::steadied(first, surface.offsets.steady.front()[contour]);
  std::vector<Segment> elements = first.segments;
  for (std::size_t j = 0; j < elements.size(); ++j)
    elements[j] = element_at(surface, contour, j, 0);
  return elements;
}

bool passes_at(IntendedSurface const& surface, Section const& section, double d) {
  return passes(section.line, d, element_at(surface, section.contour, section.element, d));
}

std::vector<Section> sections_of(IntendedSurface const& surface,
                                 std::vector<std::vector<Segment>> const& bases) {
  return Sectioning(surface, bases).run();
}

void crossings(SectionLine const& line, Segment const& s, double bend, std::vector<double>& out) {
  constexpr double beyond = 0.002; // mm
  if (!s.arc) {
    Vec2 const along = s.to - s.from;
    double const sine = cross(line.away, along);
    double const l2 = dot(along, along);
    if (sine * sine < 1e-18 * l2) return;
    double const share = cross(s.from - line.at, line.away) / sine;
    double const over = std::max(-share, share - 1);
    if (over > 0 && over * over * l2 > beyond * beyond) return;
    out.push_back(cross(s.from - line.at, along) / sine + dot(bulge(s, bend, share), line.away));
    return;
  }
  Vec2 const to_centre = s.centre - line.at;
  double const along = dot(to_centre, line.away);
  double const off2 = dot(to_centre, to_centre) - along * along; // of the centre, from the line
  Vec2 const start = s.from - s.centre;
  double const r_start = length(start);
  double const r_end = distance(s.to, s.centre);
  double const radius = 0.5 * (r_start + r_end);
  double const sweep = s.length() / radius;
  for (double const way : {-1.0, 1.0}) {
    // Digits let the two radii differ; the arc goes evenly from one to the other, as everywhere else. What
    // that moves the place by is so little that one look at it tells the radius there.
    double r = radius;
    double share = 0;
    for (int look = 0; look < 2 && r * r >= off2; ++look) {
      Vec2 const p = line.at + (along + way * std::sqrt(r * r - off2)) * line.away - s.centre;
      double angle = std::atan2(cross(start, p), dot(start, p)) * (s.ccw ? 1 : -1);
      if (angle < -beyond / std::max(radius, beyond)) angle += 2 * std::numbers::pi;
      share = angle / sweep;
      r = r_start + std::clamp(share, 0.0, 1.0) * (r_end - r_start);
    }
    if (r * r >= off2 && share * sweep * radius <= s.length() + beyond)
      out.push_back(along + way * std::sqrt(r * r - off2));
  }
}

} // namespace restep::proof
