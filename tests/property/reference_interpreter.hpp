#pragma once

#include "reference_cycles.hpp"
#include "reference_values.hpp"

#include <algorithm>
#include <set>
#include <sstream>
#include <vector>

/// A second interpreter, straight from NISTIR 6556 (3.3 to 3.7, table 8), with floating point and no checks:
/// it shares no code with the one under test and takes valid programs only. Not in it: probing, cutter radius
/// compensation. G52 and the height that cycles return to until G80 are common practice.
namespace restep::property {

/// What a program does not say. A program must mean the same to every control in which it is understood.
struct ReferenceControl {
  Point machine{};    ///< where the tool stands at the start, in machine coordinates
  int system = 1;     ///< the work offset in force
  double length = 0;  ///< the tool length offset in force
  double scatter = 0; ///< origins, lengths and home positions are made from it
  bool skips = false; ///< the switch of block delete
  bool keeps_level =
      false; ///< G98 returns to the height at which the cycles began, not to the one before the line
  bool homes_all = true; ///< G28 and G30 send every axis home (3.5.8), not those named alone

  double of(int what, int axis) const { return scatter * std::sin(7.0 * what + 3.0 * axis + scatter); }
};

class ReferenceInterpreter {
public:
  explicit ReferenceInterpreter(ReferenceControl const& control)
      : control_(control)
      , stand_(control.machine)
      , length_(control.length)
      , system_(control.system) {
    for (int system = 1; system <= 9; ++system)
      for (int axis = 0; axis < 3; ++axis)
        origins_[at(system)][at(axis)] = control.of(system, axis);
  }

  std::vector<ReferenceAct> const& run(std::string const& program) {
    std::istringstream lines(program);
    for (std::string line; std::getline(lines, line);)
      block(line);
    return acts_;
  }

  void block(std::string const& line);

  std::vector<ReferenceAct> const& acts() const { return acts_; }
  ReferenceValues& values() { return values_; }
  /// Where the tool stands in the active work offset.
  double place(int axis) const { return stand_[at(axis)] - offset(axis); }
  int motion() const { return motion_; }
  int spindle() const { return spindle_; }
  double retract_number() const { return sticky_.at('R'); }
  double bottom_number() const { return sticky_.at('B'); }

private:
  struct Words {
    std::map<char, double> value;
    std::set<int> g, m; ///< G codes in tenths
    bool has(char letter) const { return value.count(letter) != 0; }
    bool any(std::set<int> const& codes) const {
      return std::any_of(codes.begin(), codes.end(), [this](int code) { return g.count(code) != 0; });
    }
    double or_zero(char letter) const { return has(letter) ? value.at(letter) : 0; }
    int of(std::set<int> const& codes) const {
      for (int const code : codes)
        if (g.count(code)) return code;
      return 0;
    }
  };

  ReferenceControl control_;
  ReferenceValues values_;
  std::vector<ReferenceAct> acts_;
  Point stand_{}; ///< in machine coordinates
  Point shift_{}, kept_shift_{}, local_{};
  std::array<Point, 10> origins_{};
  double length_ = 0;
  int system_ = 1;
  int motion_ = 800, plane_ = 17, back_ = 98, spindle_ = 5, tool_ = 0;
  double unit_ = 1, feed_ = 0;
  bool incremental_ = false, inverse_ = false, ended_ = false;
  int percents_ = 0;
  std::map<char, double> sticky_; ///< of the cycle in force, mm and s; B is the bottom
  bool has_level_ = false;
  double level_ = 0;

  static std::size_t at(int index) { return static_cast<std::size_t>(index); }
  static char axis_letter(int axis) { return static_cast<char>('X' + axis); }
  static bool is_cycle(int motion) { return motion >= 810 && motion <= 890; }
  double offset(int axis) const {
    return origins_[at(system_)][at(axis)] + shift_[at(axis)] + local_[at(axis)] + (axis == 2 ? length_ : 0);
  }
  int normal() const { return plane_ == 17 ? 2 : plane_ == 18 ? 1 : 0; }
  int first() const { return (normal() + 1) % 3; }
  int second() const { return (normal() + 2) % 3; }
  Point place() const { return {place(0), place(1), place(2)}; }
  void stand(Point const& point) {
    for (int axis = 0; axis < 3; ++axis)
      stand_[at(axis)] = point[at(axis)] + offset(axis);
  }
  static double named(Words const& words, char letter, double unit) {
    return words.has(letter) ? words.value.at(letter) * unit : NAN;
  }

  void act(std::string what, std::vector<double> values = {}) {
    acts_.push_back({std::move(what), std::move(values)});
  }
  static void append(std::vector<double>& values, Point const& point) {
    values.insert(values.end(), point.begin(), point.end());
  }

  Point target(Words const& words) const {
    Point to = place();
    for (int axis = 0; axis < 3; ++axis) {
      if (!words.has(axis_letter(axis))) continue;
      double const value = words.value.at(axis_letter(axis)) * unit_;
      to[at(axis)] = incremental_ ? to[at(axis)] + value : value;
    }
    return to;
  }

  void execute(Words& words);
  void modes(Words const& words);
  void spindle_and_tool(Words const& words);
  void offsets(Words const& words);
  void home(Words const& words, int code);
  void move(Words const& words);
  void machine_move(Words const& words);
  void drill(Words const& words);
  void hole(Point const& over, double retract, double clear);
};

/// Values are read with the parameters as they were before the line; settings come last (3.3.3).
inline void ReferenceInterpreter::block(std::string const& line) {
  std::string text;
  bool remark = false;
  for (char const c : line) {
    if (c == ';' && !remark) break;
    if (c == '(') remark = true;
    if (!remark && !std::isspace(static_cast<unsigned char>(c)))
      text += static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
    if (c == ')') remark = false;
  }
  if (text == "%") ++percents_;
  if (ended_ || percents_ == 2 || text == "%") return;
  char const* at = text.c_str();
  bool const deleted = *at == '/';
  if (deleted) ++at;
  Words words;
  std::vector<std::pair<std::string, double>> settings;
  while (*at != '\0') {
    if (*at == '#') {
      auto name = values_.parameter(at);
      settings.emplace_back(std::move(name), values_.real(++at));
      continue;
    }
    char const letter = *at++;
    double const value = values_.real(at);
    if (letter == 'G')
      words.g.insert(static_cast<int>(std::lround(value * 10)));
    else if (letter == 'M')
      words.m.insert(static_cast<int>(std::lround(value)));
    else
      words.value[letter] = value;
  }
  if (deleted && control_.skips) return;
  execute(words);
  for (auto const& [name, value] : settings)
    values_.set(name, value);
}

/// Table 8, in its order.
inline void ReferenceInterpreter::execute(Words& words) {
  if (words.any({930, 940})) inverse_ = words.g.count(930) != 0;
  if (words.has('F')) feed_ = words.value['F'];
  spindle_and_tool(words);
  if (words.g.count(40)) act("G4", {words.value['P']});
  modes(words);
  offsets(words);
  static std::set<int> const motions{0, 10, 20, 30, 800, 810, 820, 830, 840, 850, 860, 870, 880, 890};
  if (words.any(motions)) {
    int const code = words.of(motions);
    if (code != motion_) sticky_.clear();
    if (!(is_cycle(code) && is_cycle(motion_))) has_level_ = false;
    motion_ = code;
  }
  bool const taken = words.any({100, 280, 300, 520, 920});
  if (words.g.count(530))
    machine_move(words);
  else if (!taken && (words.has('X') || words.has('Y') || words.has('Z')))
    is_cycle(motion_) ? drill(words) : move(words);
  for (int const code : {0, 1, 2, 30, 60}) {
    if (!words.m.count(code)) continue;
    act("M" + std::to_string(code));
    ended_ = code == 2 || code == 30;
  }
}

inline void ReferenceInterpreter::spindle_and_tool(Words const& words) {
  if (words.has('S')) act("S", {words.value.at('S')});
  if (words.has('T')) act("T", {words.value.at('T')});
  if (words.has('T')) tool_ = static_cast<int>(std::lround(words.value.at('T')));
  if (words.m.count(6)) act("M6", {double(tool_)});
  if (words.m.count(6)) spindle_ = 5;
  for (int const code : {3, 4, 5, 7, 8, 9, 48, 49}) {
    if (!words.m.count(code)) continue;
    act("M" + std::to_string(code));
    if (code <= 5) spindle_ = code;
  }
}

inline void ReferenceInterpreter::modes(Words const& words) {
  if (words.any({170, 180, 190})) {
    int const plane = words.of({170, 180, 190}) / 10;
    // What cycles keep belongs to the axis that is normal to the plane.
    if (plane != plane_) sticky_.clear();
    has_level_ = has_level_ && plane == plane_;
    plane_ = plane;
  }
  if (words.any({200, 210})) unit_ = words.g.count(200) ? 25.4 : 1;
  if (words.any({430, 490})) {
    int const index = words.g.count(430) ? static_cast<int>(std::lround(words.value.at('H'))) : 0;
    length_ = index == 0 ? 0 : control_.of(20 + index, 0);
    act(index == 0 ? "G49" : "G43", {double(index)});
    has_level_ = false;
  }
  static std::set<int> const systems{540, 550, 560, 570, 580, 590, 591, 592, 593};
  if (words.any(systems)) {
    int const code = words.of(systems);
    system_ = code <= 590 ? code / 10 - 53 : code - 584;
    act("G54", {double(system_)});
    has_level_ = false;
  }
  if (words.any({610, 611, 640})) act("G" + std::to_string(words.of({610, 611, 640})));
  if (words.any({900, 910})) incremental_ = words.g.count(910) != 0;
  if (words.any({980, 990})) back_ = words.of({980, 990}) / 10;
}

inline void ReferenceInterpreter::offsets(Words const& words) {
  int const code = words.of({100, 280, 300, 520, 920, 921, 922, 923});
  if (code == 0) return;
  has_level_ = false;
  if (code == 280 || code == 300) return home(words, code);
  std::vector<double> given;
  if (code == 100) given.push_back(words.value.at('P'));
  Point const before = place();
  for (int axis = 0; axis < 3; ++axis) {
    double const value = named(words, axis_letter(axis), unit_);
    if (code == 100 || code == 520 || code == 920) given.push_back(value);
    if (std::isnan(value)) continue;
    if (code == 100) origins_[at(static_cast<int>(std::lround(given[0])))][at(axis)] = value;
    if (code == 520) local_[at(axis)] = value;
    if (code == 920) shift_[at(axis)] += before[at(axis)] - value;
  }
  if (code == 920) kept_shift_ = shift_;
  if (code == 921) kept_shift_ = {};
  if (code == 921 || code == 922) shift_ = {};
  if (code == 923) shift_ = kept_shift_;
  act("G" + std::to_string(code), given);
}

inline void ReferenceInterpreter::home(Words const& words, int code) {
  std::vector<double> values;
  append(values, place());
  Point const via = target(words);
  bool const none = !words.has('X') && !words.has('Y') && !words.has('Z');
  int axes = 0;
  stand(via);
  for (int axis = 0; axis < 3; ++axis) {
    bool const is_named = words.has(axis_letter(axis));
    values.push_back(is_named ? via[at(axis)] : NAN);
    if (!is_named && !none && !control_.homes_all) continue;
    axes += 1 << axis;
    stand_[at(axis)] = control_.of(code, axis);
  }
  values.push_back(axes);
  act("G" + std::to_string(code), values);
}

/// G53 (3.5.12).
inline void ReferenceInterpreter::machine_move(Words const& words) {
  std::vector<double> values;
  append(values, place());
  for (int axis = 0; axis < 3; ++axis) {
    values.push_back(named(words, axis_letter(axis), unit_));
    if (words.has(axis_letter(axis))) stand_[at(axis)] = values.back();
  }
  values.push_back(motion_ == 0 ? 0 : feed_ * unit_);
  act(motion_ == 0 ? "G53 G0" : "G53 G1", values);
}

inline void ReferenceInterpreter::move(Words const& words) {
  std::vector<double> values;
  Point const from = place(), to = target(words);
  append(values, from);
  append(values, to);
  values.push_back(motion_ == 0 ? 0 : inverse_ ? feed_ : feed_ * unit_);
  if (motion_ >= 20) {
    // Z-X is the order of G18: seen from +Y, Z comes first.
    std::size_t const a = at(first()), b = at(second());
    Point centre = from;
    if (words.has('R')) {
      double const r = words.value.at('R') * unit_;
      double const da = to[a] - from[a], db = to[b] - from[b];
      double const chord = std::hypot(da, db);
      double const height = std::sqrt(r * r - chord * chord / 4) * ((motion_ == 30) == (r > 0) ? 1 : -1);
      centre[a] = from[a] + da / 2 - height * db / chord;
      centre[b] = from[b] + db / 2 + height * da / chord;
    } else {
      centre[a] += words.or_zero(static_cast<char>('I' + a)) * unit_;
      centre[b] += words.or_zero(static_cast<char>('I' + b)) * unit_;
    }
    append(values, centre);
  }
  stand(to);
  act("G" + std::to_string(motion_ / 10), values);
}

/// 3.5.16 and its parts. R and the depth are taken as they were written last, whatever they count from now.
inline void ReferenceInterpreter::drill(Words const& words) {
  char const bottom_letter = axis_letter(normal());
  for (char const letter : {'R', 'Q', 'I', 'J', 'K'})
    if (words.has(letter)) sticky_[letter] = words.value.at(letter) * unit_;
  if (words.has('P')) sticky_['P'] = words.value.at('P');
  if (words.has(bottom_letter)) sticky_['B'] = words.value.at(bottom_letter) * unit_;
  if (!has_level_ || !control_.keeps_level) level_ = place(normal());
  has_level_ = true;
  double const retract = sticky_['R'] + (incremental_ ? level_ : 0);
  double const bottom = sticky_['B'] + (incremental_ ? retract : 0);
  double const clear = back_ == 98 ? std::max(level_, retract) : retract;
  int const repeats = words.has('L') ? static_cast<int>(std::lround(words.value.at('L'))) : 1;
  Words across = words;
  across.value.erase(bottom_letter);
  for (int i = 0; i < repeats; ++i) {
    Point over = target(across);
    over[at(normal())] = bottom;
    hole(over, retract, clear);
  }
}

inline void ReferenceInterpreter::hole(Point const& over, double retract, double clear) {
  std::vector<double> values;
  append(values, place());
  append(values, over);
  values.insert(values.end(), {retract, clear, sticky_['Q'], sticky_['P'], feed_ * unit_});
  Point shift{sticky_['I'], sticky_['J'], sticky_['K']};
  if (motion_ == 870 && incremental_) shift[at(normal())] += over[at(normal())];
  append(values, shift);
  act("G" + std::to_string(motion_ / 10), values);
  ReferenceHole const told{motion_ / 10, at(normal()), place(),      over,         shift,
                           retract,      clear,        sticky_['Q'], sticky_['P'], spindle_};
  auto const sequence = ReferenceCycle(told).acts();
  acts_.insert(acts_.end(), sequence.begin(), sequence.end());
  Point end = over;
  end[at(normal())] = clear;
  stand(end);
}

} // namespace restep::property
