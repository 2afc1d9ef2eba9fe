#include "command/surface.hpp"

#include "command/values.hpp"

#include <fmt/format.h>

#include <cmath>
#include <vector>

namespace restep::command {

namespace {

using cutter::Piece;
using cutter::Vec2;

constexpr char const* forms =
    "surfaces are: round 1.5, fillet 3, draft 3deg height 10, chamfer 45deg height 2, "
    "wall height 10";

std::vector<std::string_view> words_of(std::string_view text) {
  std::vector<std::string_view> words;
  for (text = trimmed(text); !text.empty(); text = trimmed(text)) {
    std::size_t const end = std::min(text.find_first_of(" \t"), text.size());
    words.push_back(text.substr(0, end));
    text.remove_prefix(end);
  }
  return words;
}

/// A length of a surface; as on a drawing, mm is understood.
Expected<double> size_of(std::string_view text) {
  bool const bare = !text.empty() && text.find_first_not_of("0123456789.") == std::string_view::npos;
  auto size = parse_length(bare ? std::string(text) + "mm" : std::string(text));
  if (size && *size == 0) return wrong_usage("a surface without size has no levels");
  return size;
}

cutter::Meridian straight(double angle, double height) {
  Piece piece;
  piece.shape = Piece::Shape::line;
  piece.to = {height * std::tan(geometry::radians(angle)), -height};
  return cutter::Meridian({piece});
}

/// A quarter of an edge round, from the top face to the wall. The corner-arc centre keeps R + r from the
/// round's own centre, which lies R below the top face; the tip is r below the corner-arc centre.
cutter::Meridian edge_round(double radius, double corner) {
  Piece piece;
  piece.shape = Piece::Shape::arc;
  piece.rho = radius + corner;
  piece.centre = {0, -piece.rho};
  piece.to = {piece.rho, -piece.rho};
  piece.convex = true;
  return cutter::Meridian({piece});
}

/// A quarter of a fillet, from the wall to the floor at z = 0. The corner-arc centre keeps R - r from the
/// fillet's centre.
cutter::Meridian fillet(double radius, double corner) {
  Piece piece;
  piece.shape = Piece::Shape::arc;
  piece.rho = radius - corner;
  piece.centre = {piece.rho, piece.rho};
  piece.from = {0, piece.rho};
  piece.to = {piece.rho, 0};
  piece.convex = false;
  return cutter::Meridian({piece});
}

} // namespace

Expected<cutter::Meridian> surface_meridian(std::string_view text, cutter::Tool const& tool) {
  auto const words = words_of(text);
  auto const refuse = [&] { return wrong_usage(fmt::format("unknown surface '{}'", text), forms); };
  if (words.empty()) return refuse();

  if ((words[0] == "round" || words[0] == "fillet") && words.size() == 2) {
    auto const radius = size_of(words[1]);
    if (!radius) return tl::unexpected(radius.error());
    if (words[0] == "round") return edge_round(*radius, tool.corner_radius);
    if (*radius <= tool.corner_radius) {
      return wrong_usage(fmt::format("a fillet of {} mm needs a smaller corner radius than {} mm", *radius,
                                     tool.corner_radius));
    }
    return fillet(*radius, tool.corner_radius);
  }
  bool const wall = words[0] == "wall" && words.size() == 3 && words[1] == "height";
  bool const plane =
      (words[0] == "draft" || words[0] == "chamfer") && words.size() == 4 && words[2] == "height";
  if (!wall && !plane) return refuse();
  auto const height = size_of(words.back());
  if (!height) return tl::unexpected(height.error());
  if (wall) return straight(0, *height);
  auto const angle = parse_angle(words[1]);
  if (!angle) return tl::unexpected(angle.error());
  if (*angle <= 0 || *angle >= 90)
    return wrong_usage(fmt::format("the angle '{}' is not between 0 and 90 degrees", words[1]),
                       "angles count from the tool axis: a draft of 3 degrees is 3deg");
  return straight(*angle, *height);
}

} // namespace restep::command
