#include "proof/agreement.hpp"

#include "proof/course.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <string>

namespace restep::proof {

namespace {

/// What decimal arithmetic may leave behind on a length, mm; never a digit of any control.
constexpr double arithmetic = 1e-9;
constexpr double millimetres_per_inch = 25.4;

/// Same place or both unknown, axis by axis.
bool values_agree(motion::Vec3 const& a, motion::Vec3 const& b, double tolerance) {
  for (int axis = 0; axis < 3; ++axis) {
    if (motion::is_known(a[axis]) != motion::is_known(b[axis])) return false;
    if (motion::is_known(a[axis]) && std::abs(a[axis] - b[axis]) > tolerance) return false;
  }
  return true;
}

/// Also true when neither is known.
bool near(double a, double b, double tolerance) {
  if (!motion::is_known(a) || !motion::is_known(b)) return motion::is_known(a) == motion::is_known(b);
  return std::abs(a - b) <= tolerance;
}

bool plain_feeds_agree(double a, double b, motion::FeedMode mode, Tolerances const& t) {
  return near(a, b, mode == motion::FeedMode::inverse_time ? t.inverse : t.feed);
}

/// The words of a carried block, without what means nothing: blanks, case and the block number.
std::string essence(std::string_view text) {
  std::string words;
  for (char const c : text) {
    if (std::isspace(static_cast<unsigned char>(c)) == 0)
      words += static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  }
  std::size_t begin = 0;
  if (begin < words.size() && words[begin] == '/') ++begin;
  if (begin < words.size() && words[begin] == 'N') {
    ++begin;
    while (begin < words.size() && std::isdigit(static_cast<unsigned char>(words[begin])) != 0)
      ++begin;
  }
  return words.substr(begin);
}

/// Two whole arcs: the turn must be the same, and no point of the read one may leave the meant one's course.
bool arcs_agree(motion::Motion const& meant, motion::Motion const& read, Tolerances const& t,
                double& deviation) {
  if (meant.plane != read.plane) return false;
  if (!motion::is_known(meant.from) || !motion::is_known(read.from) || !motion::is_known(meant.to) ||
      !motion::is_known(read.to))
    return false;
  Course const wanted(meant), found(read);
  // Rounding may turn a sliver of an arc into a full circle or the other way round; the lengths then differ
  // by a whole circumference.
  if (!near(wanted.length(), found.length(), 4 * t.course + 1e-3 * wanted.length())) return false;
  int const samples = 4 + static_cast<int>(std::abs(found.sweep()) * 2);
  double worst = 0;
  for (int i = 1; i < samples; ++i) {
    double const share = static_cast<double>(i) / samples;
    Vec3 const point = found.at(share);
    worst = std::max(worst, geometry::distance(point, wanted.at(wanted.nearest(point, share))));
  }
  if (worst > t.course * std::sqrt(2.0)) return false;
  deviation = std::max(deviation, worst);
  return true;
}

struct Compare {
  Tolerances const& t;
  double& deviation;

  bool operator()(motion::Motion const& a, motion::Motion const& b) const {
    if (a.path != b.path || a.compensated != b.compensated || a.rotary != b.rotary || a.blind != b.blind)
      return false;
    if (!ends_agree(a.to, b.from, b.to, t.position)) return false;
    if (motion::is_cutting(a) && !feeds_agree(a, b, t)) return false;
    if (motion::is_arc(a) && !arcs_agree(a, b, t, deviation)) return false;
    deviation = std::max(deviation, apart(a.to, b.to));
    return true;
  }
  bool operator()(motion::Cycle const& a, motion::Cycle const& b) const {
    double const p = t.position;
    bool const same = a.code == b.code && a.plane == b.plane && a.feed_mode == b.feed_mode &&
                      values_agree(a.hole, b.hole, p) && near(a.retract, b.retract, p) &&
                      near(a.clear, b.clear, p) && near(a.peck, b.peck, p) &&
                      near(a.dwell, b.dwell, t.dwell) && plain_feeds_agree(a.feed, b.feed, a.feed_mode, t) &&
                      near(a.shift_i, b.shift_i, p) && near(a.shift_j, b.shift_j, p) &&
                      near(a.shift_k, b.shift_k, p);
    if (same) deviation = std::max(deviation, apart(a.hole, b.hole));
    return same;
  }
  bool operator()(motion::Home const& a, motion::Home const& b) const {
    return a.second == b.second && a.axes == b.axes && values_agree(a.via, b.via, t.position);
  }
  bool operator()(motion::MachineMove const& a, motion::MachineMove const& b) const {
    return a.rapid == b.rapid && values_agree(a.to, b.to, t.position) &&
           (a.rapid || near(a.feed, b.feed, t.feed));
  }
  bool operator()(motion::Probe const& a, motion::Probe const& b) const {
    return a.code == b.code && ends_agree(a.to, b.from, b.to, t.position) && near(a.feed, b.feed, t.feed);
  }
  bool operator()(motion::Dwell const& a, motion::Dwell const& b) const {
    return near(a.seconds, b.seconds, t.dwell);
  }
  bool operator()(motion::SpindleSpeed const& a, motion::SpindleSpeed const& b) const {
    return near(a.rpm, b.rpm, t.speed);
  }
  bool operator()(motion::PathControl const& a, motion::PathControl const& b) const {
    return a.mode == b.mode && near(a.tolerance, b.tolerance, t.position);
  }
  bool operator()(motion::OffsetChange const& a, motion::OffsetChange const& b) const {
    return a.code == b.code && values_agree(a.values, b.values, t.position);
  }
  bool operator()(motion::SetOrigin const& a, motion::SetOrigin const& b) const {
    return a.here == b.here && a.system == b.system && values_agree(a.origin, b.origin, t.position);
  }
  bool operator()(motion::Carried const& a, motion::Carried const& b) const {
    return essence(a.text) == essence(b.text);
  }
  template <class Same>
  bool operator()(Same const& a, Same const& b) const {
    return a == b;
  }
  template <class A, class B>
  bool operator()(A const&, B const&) const {
    return false;
  }
};

} // namespace

Tolerances tolerances(dialect::Dialect const& dialect, motion::Units units) {
  double const digit = dialect.resolution(units);
  double const arc_digit = dialect.arc_resolution(units);
  double const feed_digit = std::pow(10.0, -dialect.feed_decimals(units));
  Tolerances t;
  // The writer rounds to billionths first, so that a half is one (dialect/number).
  double const billionth = 0.5e-9 * (units == motion::Units::inch ? millimetres_per_inch : 1);
  t.position = digit / 2 + billionth + arithmetic;
  t.course = 1.5 * arc_digit + billionth + arithmetic;
  t.chord = dialect.chord_tolerance_mm + t.course;
  t.feed = feed_digit / 2 * (units == motion::Units::inch ? millimetres_per_inch : 1) + 1e-6;
  t.inverse = feed_digit / 2 + arithmetic;
  t.speed = std::pow(10.0, -dialect.decimals_speed) / 2 + arithmetic;
  t.dwell = 0.0005 + arithmetic; // a millisecond is the finest that controls count
  return t;
}

std::size_t agreeing_cuts(motion::Stretch const& meant, motion::Stretch const& read, Tolerances const& t,
                          double& deviation) {
  if (meant.like.path != read.like.path || !feeds_agree(meant.like, read.like, t)) return 0;
  std::size_t const most = std::min(meant.size, read.size);
  double worst = 0; // squared
  std::size_t i = 0;
  for (; i < most; ++i) {
    Vec3 const off = meant.point(i + 1) - read.point(i + 1);
    bool const same =
        std::abs(off.x) <= t.position && std::abs(off.y) <= t.position && std::abs(off.z) <= t.position;
    if (!meant.moves(i) || !read.moves(i) || !same) break;
    worst = std::max(worst, dot(off, off));
  }
  deviation = std::max(deviation, std::sqrt(worst));
  return i;
}

double apart(motion::Vec3 const& a, motion::Vec3 const& b) {
  motion::Vec3 difference{};
  for (int axis = 0; axis < 3; ++axis) {
    if (motion::is_known(a[axis]) && motion::is_known(b[axis])) difference[axis] = a[axis] - b[axis];
  }
  return length(difference);
}

bool ends_agree(motion::Vec3 const& meant, motion::Vec3 const& read_from, motion::Vec3 const& read_to,
                double tolerance) {
  for (int axis = 0; axis < 3; ++axis) {
    bool const known = motion::is_known(meant[axis]);
    if (known) {
      // An unknown read coordinate compares false and so disagrees.
      if (!(std::abs(meant[axis] - read_to[axis]) <= tolerance)) return false;
    } else if (motion::is_known(read_to[axis]) && read_to[axis] != read_from[axis]) {
      return false;
    }
  }
  return true;
}

bool feeds_agree(motion::Motion const& meant, motion::Motion const& read, Tolerances const& tolerances) {
  bool const inverse_meant = meant.feed_mode == motion::FeedMode::inverse_time;
  bool const inverse_read = read.feed_mode == motion::FeedMode::inverse_time;
  if (!inverse_meant && !inverse_read)
    return meant.feed_mode == read.feed_mode && near(meant.feed, read.feed, tolerances.feed);
  if (meant.feed_mode == read.feed_mode && near(meant.feed, read.feed, tolerances.inverse)) return true;
  if (meant.feed_mode == motion::FeedMode::per_revolution ||
      read.feed_mode == motion::FeedMode::per_revolution)
    return false;
  if (!motion::is_known(meant.from) || !motion::is_known(meant.to) || !motion::is_known(read.from) ||
      !motion::is_known(read.to))
    return false;
  // Inverse time says F moves of this length a minute, so the speed is F times the length.
  double const read_length = Course(read).length();
  double const meant_speed = meant.feed * (inverse_meant ? Course(meant).length() : 1);
  double const read_speed = read.feed * (inverse_read ? read_length : 1);
  return near(meant_speed, read_speed, inverse_read ? tolerances.inverse * read_length : tolerances.feed);
}

bool agree(motion::Event const& meant, motion::Event const& read, Tolerances const& tolerances,
           double& deviation) {
  if (meant.index() != read.index()) return false;
  if (meant == read) return true;
  return std::visit(Compare{tolerances, deviation}, meant, read);
}

} // namespace restep::proof
