#pragma once

#include <cmath>
#include <limits>
#include <numbers>

namespace restep::geometry {

/// A point or vector in a plane.
struct Vec2 {
  double x = 0;
  double y = 0;

  friend constexpr Vec2 operator+(Vec2 a, Vec2 b) { return {a.x + b.x, a.y + b.y}; }
  friend constexpr Vec2 operator-(Vec2 a, Vec2 b) { return {a.x - b.x, a.y - b.y}; }
  friend constexpr Vec2 operator-(Vec2 a) { return {-a.x, -a.y}; }
  friend constexpr Vec2 operator*(double f, Vec2 a) { return {f * a.x, f * a.y}; }
  friend constexpr Vec2 operator*(Vec2 a, double f) { return f * a; }
  friend constexpr Vec2 operator/(Vec2 a, double f) { return {a.x / f, a.y / f}; }
  friend constexpr bool operator==(Vec2, Vec2) = default;
};

constexpr double dot(Vec2 a, Vec2 b) {
  return a.x * b.x + a.y * b.y;
}
/// z component of the cross product: positive when b lies counter-clockwise of a.
constexpr double cross(Vec2 a, Vec2 b) {
  return a.x * b.y - a.y * b.x;
}
/// Lengths here are millimetres of a machine: nothing near where squares overflow, so that hypot's care would
/// cost a quarter of the run for nothing.
inline double length(Vec2 a) {
  return std::sqrt(dot(a, a));
}
inline double distance(Vec2 a, Vec2 b) {
  return length(b - a);
}
/// The vector turned by a quarter turn counter-clockwise.
constexpr Vec2 left_normal(Vec2 a) {
  return {-a.y, a.x};
}
/// a / |a|; a zero vector stays zero.
inline Vec2 normalized(Vec2 a) {
  double const n = length(a);
  return n > 0 ? a / n : Vec2{};
}

/// A point or vector in space, axes as in ISO 841.
struct Vec3 {
  double x = 0;
  double y = 0;
  double z = 0;

  friend constexpr Vec3 operator+(Vec3 a, Vec3 b) { return {a.x + b.x, a.y + b.y, a.z + b.z}; }
  friend constexpr Vec3 operator-(Vec3 a, Vec3 b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
  friend constexpr Vec3 operator-(Vec3 a) { return {-a.x, -a.y, -a.z}; }
  friend constexpr Vec3 operator*(double f, Vec3 a) { return {f * a.x, f * a.y, f * a.z}; }
  friend constexpr Vec3 operator*(Vec3 a, double f) { return f * a; }
  friend constexpr Vec3 operator/(Vec3 a, double f) { return {a.x / f, a.y / f, a.z / f}; }
  friend constexpr bool operator==(Vec3, Vec3) = default;

  constexpr double operator[](int axis) const { return axis == 0 ? x : axis == 1 ? y : z; }
  constexpr double& operator[](int axis) { return axis == 0 ? x : axis == 1 ? y : z; }
};

constexpr double dot(Vec3 a, Vec3 b) {
  return a.x * b.x + a.y * b.y + a.z * b.z;
}
inline double length(Vec3 a) {
  return std::sqrt(dot(a, a));
}
inline double distance(Vec3 a, Vec3 b) {
  return length(b - a);
}
constexpr Vec2 xy(Vec3 a) {
  return {a.x, a.y};
}
constexpr Vec3 at_height(Vec2 a, double z) {
  return {a.x, a.y, z};
}

constexpr double radians(double degrees) {
  return degrees * (std::numbers::pi / 180);
}
constexpr double degrees(double radians) {
  return radians * (180 / std::numbers::pi);
}

} // namespace restep::geometry
