#include "finish/common_elements.hpp"

#include "finish/course.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>
#include <vector>

namespace restep::finish {

namespace {

constexpr int most_rounds = 4;       // of parting elements
constexpr double least_apart = 1e-4; // mm between neighbouring vertices: below every program's digits

// A vertex on one level: where, and on which of the level's own elements.
struct Vertex {
  Vec2 at{};
  std::size_t element = 0;
  double share = 0;
};
using Vertices = std::vector<Vertex>;

bool in_smooth_chords(Contour const& contour) {
  auto const& s = contour.segments;
  for (std::size_t j = 0; j < s.size(); ++j) {
    if (s[j].arc) return false;
    if (!contour.closed && j + 1 == s.size()) continue;
    if (!on_curve(s[j], s[(j + 1) % s.size()])) return false;
  }
  return s.size() >= 2;
}

// The contours in one place of all levels' lists.
class Column {
public:
  Column(std::vector<Contour const*> levels)
      : levels_(std::move(levels)) {
    for (Contour const* contour : levels_) {
      courses_.emplace_back(contour->segments, contour->closed, reach());
      bends_.push_back(bends_of(contour->segments, contour->closed));
      own_sagitta_ = std::max(own_sagitta_, largest_sagitta(contour->segments, contour->closed));
    }
  }

  // Per level its vertices, as many on each.
  std::optional<std::vector<Vertices>> follow() const {
    auto const finest =
        std::max_element(levels_.begin(), levels_.end(), [](Contour const* a, Contour const* b) {
          return a->segments.size() < b->segments.size();
        });
    auto const first = static_cast<std::size_t>(finest - levels_.begin());
    Vertices vertices = own_vertices(first);
    for (int round = 0;; ++round) {
      auto all = follow_from(first, vertices);
      if (!all) return std::nullopt;
      std::vector<bool> const coarse = too_coarse(*all);
      if (round == most_rounds || std::find(coarse.begin(), coarse.end(), true) == coarse.end()) return all;
      vertices = parted(first, std::move(vertices), coarse);
    }
  }

private:
  std::vector<Contour const*> levels_;
  std::vector<Course> courses_;
  std::vector<std::vector<double>> bends_;
  double own_sagitta_ = 0;

  static constexpr double reach() { return 3; } // mm that neighbouring levels are apart at most

  bool closed() const { return levels_.front()->closed; }
  std::size_t elements(Vertices const& vertices) const { return vertices.size() - (closed() ? 0 : 1); }

  // On the curve that the chords stand for.
  Vec2 place(std::size_t level, std::size_t element, double share) const {
    Segment const& s = levels_[level]->segments[element];
    double const right = share * (1 - share) * s.length() * bends_[level][element] / 2;
    return s.point_at(share) - right * left_normal(s.direction_at_share(share));
  }
  Vertex vertex(std::size_t level, std::size_t element, double share) const {
    return {place(level, element, share), element, share};
  }
  // Of the course at a vertex: along the chords about it.
  Vec2 direction(Vertices const& v, std::size_t i) const {
    std::size_t const n = v.size();
    std::size_t const before = i > 0 ? i - 1 : closed() ? n - 1 : 0;
    std::size_t const after = i + 1 < n ? i + 1 : closed() ? 0 : i;
    return normalized(v[after].at - v[before].at);
  }

  Vertices own_vertices(std::size_t level) const {
    Vertices v;
    std::size_t const n = levels_[level]->segments.size();
    for (std::size_t j = 0; j < n; ++j)
      v.push_back(vertex(level, j, 0));
    if (!closed()) v.push_back(vertex(level, n - 1, 1));
    return v;
  }

  std::optional<std::vector<Vertices>> follow_from(std::size_t first, Vertices const& vertices) const {
    std::vector<Vertices> all(levels_.size());
    all[first] = vertices;
    for (std::size_t k = first + 1; k < levels_.size(); ++k)
      if (!(step_to(k, all[k - 1], all[k]))) return std::nullopt;
    for (std::size_t k = first; k-- > 0;)
      if (!(step_to(k, all[k + 1], all[k]))) return std::nullopt;
    return all;
  }

  // The feet of a level's vertices on a neighbour. False where they leave their order.
  bool step_to(std::size_t level, Vertices const& from, Vertices& to) const {
    std::size_t const n = levels_[level]->segments.size();
    std::size_t hint = 0;
    for (std::size_t i = 0; i < from.size(); ++i) {
      Vec2 const along = direction(from, i);
      auto const foot = i == 0 ? courses_[level].nearest(from[i].at, along)
                               : courses_[level].nearest_about(hint, from[i].at, along, reach());
      if (!foot) return false;
      bool const end = !closed() && (i == 0 || i + 1 == from.size());
      to.push_back(end ? vertex(level, i == 0 ? 0 : n - 1, i == 0 ? 0 : 1)
                       : vertex(level, foot->element, foot->share));
      hint = to.back().element;
      if (i > 0 && !(dot(to[i].at - to[i - 1].at, along) > least_apart)) return false;
    }
    return !closed() || dot(to.front().at - to.back().at, direction(from, from.size() - 1)) > least_apart;
  }

  // Which of the new elements leave the curve of some level by more than the program's own chords leave
  // theirs.
  std::vector<bool> too_coarse(std::vector<Vertices> const& all) const {
    std::vector<bool> coarse(elements(all.front()), false);
    double const most = 1.25 * own_sagitta_ + least_apart;
    for (std::size_t k = 0; k < all.size(); ++k) {
      Vertices const& v = all[k];
      for (std::size_t j = 0; j < coarse.size(); ++j) {
        Vertex const& a = v[j];
        Vertex const& b = v[(j + 1) % v.size()];
        if (a.element == b.element && b.share > a.share) continue;
        Vec2 const normal = left_normal(normalized(b.at - a.at));
        std::size_t const n = levels_[k]->segments.size();
        // The level's own vertices between the two.
        for (std::size_t e = (a.element + 1) % n, looked = 0; looked < n; e = (e + 1) % n, ++looked) {
          if (std::abs(dot(place(k, e, 0) - a.at, normal)) > most) coarse[j] = true;
          if (e == b.element || coarse[j]) break;
        }
      }
    }
    return coarse;
  }

  // With a vertex more in the middle of every element that is too coarse.
  Vertices parted(std::size_t level, Vertices v, std::vector<bool> const& coarse) const {
    Vertices out;
    std::size_t const n = levels_[level]->segments.size();
    for (std::size_t j = 0; j < v.size(); ++j) {
      out.push_back(v[j]);
      if (j >= coarse.size() || !coarse[j]) continue;
      // The first level has its own vertices at both ends: the middle lies on one of its elements.
      double const end = v[(j + 1) % v.size()].element == v[j].element ? v[(j + 1) % v.size()].share : 1;
      out.push_back(vertex(level, v[j].element % n, 0.5 * (v[j].share + (end > v[j].share ? end : 1))));
    }
    return out;
  }
};

// The contour in its new chords; the place where its cut begins is the one nearest to the program's.
Contour told_in(Contour const& own, Vertices const& v) {
  Contour told = own;
  told.segments.clear();
  std::size_t const n = v.size() - (own.closed ? 0 : 1);
  for (std::size_t j = 0; j < n; ++j) {
    Vertex const& to = v[(j + 1) % v.size()];
    told.segments.push_back({false, false, v[j].at, to.at, {}, own.segments[v[j].element].step});
  }
  if (!own.closed) return told;
  Vec2 const start = own.cut_start();
  double nearest = 1e300;
  for (std::size_t j = 0; j < n; ++j) {
    Segment const& s = told.segments[j];
    double const share =
        std::clamp(dot(start - s.from, s.to - s.from) / dot(s.to - s.from, s.to - s.from), 0.0, 1.0);
    double const away = distance(start, s.point_at(share));
    if (away >= nearest) continue;
    nearest = away;
    told.start_element = j;
    told.start_share = share;
  }
  // A start beside a vertex would part an element shorter than the digits.
  constexpr double beside_vertex = 0.1; // of the element
  if (told.start_share > 1 - beside_vertex) {
    told.start_element = (told.start_element + 1) % n;
    told.start_share = 0;
  } else if (told.start_share < beside_vertex) {
    told.start_share = 0;
  }
  return told;
}

} // namespace

std::optional<Stack> with_common_elements(Stack const& stack) {
  Stack told = stack;
  std::size_t const contours = stack.levels.front().contours.size();
  for (std::size_t c = 0; c < contours; ++c) {
    std::vector<Contour const*> levels;
    for (Level const& level : stack.levels) {
      if (level.contours.size() != contours || !in_smooth_chords(level.contours[c])) return std::nullopt;
      levels.push_back(&level.contours[c]);
    }
    auto const vertices = Column(levels).follow();
    if (!vertices) return std::nullopt;
    for (std::size_t k = 0; k < levels.size(); ++k)
      told.levels[k].contours[c] = told_in(*levels[k], (*vertices)[k]);
  }
  told.by_element = true;
  return told;
}

} // namespace restep::finish
