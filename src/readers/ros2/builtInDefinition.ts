import { assembleDefinition, withoutMsg } from "../messages/definition.ts";

const stamped = (fields: string): string => `std_msgs/Header header; ${fields}`;
const layout = "std_msgs/MultiArrayLayout layout";

/**
 * Fields of common types in the order in which they are serialised, parted by semicolons; constants take no bytes and are
 * left out. Of the autopilot's messages only the first fields, which have stayed the same (from memory; PX4 1.14).
 *
 * @source interfaces of ROS 2 (common_interfaces, geometry2), Foxy to Jazzy
 */
const commonTypes: Readonly<Record<string, string>> = {
  "builtin_interfaces/Time": "int32 sec; uint32 nanosec",
  "builtin_interfaces/Duration": "int32 sec; uint32 nanosec",
  "std_msgs/Header": "builtin_interfaces/Time stamp; string frame_id",
  "std_msgs/Bool": "bool data",
  "std_msgs/Int8": "int8 data",
  "std_msgs/Int16": "int16 data",
  "std_msgs/Int32": "int32 data",
  "std_msgs/Int64": "int64 data",
  "std_msgs/UInt8": "uint8 data",
  "std_msgs/UInt16": "uint16 data",
  "std_msgs/UInt32": "uint32 data",
  "std_msgs/UInt64": "uint64 data",
  "std_msgs/Float32": "float32 data",
  "std_msgs/Float64": "float64 data",
  "std_msgs/MultiArrayDimension": "string label; uint32 size; uint32 stride",
  "std_msgs/MultiArrayLayout": "std_msgs/MultiArrayDimension[] dim; uint32 data_offset",
  "std_msgs/Float32MultiArray": `${layout}; float32[] data`,
  "std_msgs/Float64MultiArray": `${layout}; float64[] data`,
  "std_msgs/Int32MultiArray": `${layout}; int32[] data`,
  "geometry_msgs/Vector3": "float64 x; float64 y; float64 z",
  "geometry_msgs/Point": "float64 x; float64 y; float64 z",
  "geometry_msgs/Quaternion": "float64 x; float64 y; float64 z; float64 w",
  "geometry_msgs/Pose": "geometry_msgs/Point position; geometry_msgs/Quaternion orientation",
  "geometry_msgs/Transform": "geometry_msgs/Vector3 translation; geometry_msgs/Quaternion rotation",
  "geometry_msgs/Twist": "geometry_msgs/Vector3 linear; geometry_msgs/Vector3 angular",
  "geometry_msgs/Accel": "geometry_msgs/Vector3 linear; geometry_msgs/Vector3 angular",
  "geometry_msgs/Wrench": "geometry_msgs/Vector3 force; geometry_msgs/Vector3 torque",
  "geometry_msgs/PoseWithCovariance": "geometry_msgs/Pose pose; float64[36] covariance",
  "geometry_msgs/TwistWithCovariance": "geometry_msgs/Twist twist; float64[36] covariance",
  "geometry_msgs/AccelWithCovariance": "geometry_msgs/Accel accel; float64[36] covariance",
  "geometry_msgs/Vector3Stamped": stamped("geometry_msgs/Vector3 vector"),
  "geometry_msgs/PointStamped": stamped("geometry_msgs/Point point"),
  "geometry_msgs/QuaternionStamped": stamped("geometry_msgs/Quaternion quaternion"),
  "geometry_msgs/PoseStamped": stamped("geometry_msgs/Pose pose"),
  "geometry_msgs/TransformStamped": stamped("string child_frame_id; geometry_msgs/Transform transform"),
  "geometry_msgs/TwistStamped": stamped("geometry_msgs/Twist twist"),
  "geometry_msgs/AccelStamped": stamped("geometry_msgs/Accel accel"),
  "geometry_msgs/WrenchStamped": stamped("geometry_msgs/Wrench wrench"),
  "geometry_msgs/PoseWithCovarianceStamped": stamped("geometry_msgs/PoseWithCovariance pose"),
  "geometry_msgs/TwistWithCovarianceStamped": stamped("geometry_msgs/TwistWithCovariance twist"),
  "geometry_msgs/AccelWithCovarianceStamped": stamped("geometry_msgs/AccelWithCovariance accel"),
  "geometry_msgs/PoseArray": stamped("geometry_msgs/Pose[] poses"),
  "nav_msgs/Odometry": stamped(
    "string child_frame_id; geometry_msgs/PoseWithCovariance pose; geometry_msgs/TwistWithCovariance twist",
  ),
  "nav_msgs/Path": stamped("geometry_msgs/PoseStamped[] poses"),
  "sensor_msgs/Imu": stamped(
    "geometry_msgs/Quaternion orientation; float64[9] orientation_covariance; geometry_msgs/Vector3 angular_velocity; float64[9] angular_velocity_covariance; geometry_msgs/Vector3 linear_acceleration; float64[9] linear_acceleration_covariance",
  ),
  "sensor_msgs/MagneticField": stamped("geometry_msgs/Vector3 magnetic_field; float64[9] magnetic_field_covariance"),
  "sensor_msgs/JointState": stamped("string[] name; float64[] position; float64[] velocity; float64[] effort"),
  "sensor_msgs/FluidPressure": stamped("float64 fluid_pressure; float64 variance"),
  "sensor_msgs/Temperature": stamped("float64 temperature; float64 variance"),
  "sensor_msgs/Range": stamped(
    "uint8 radiation_type; float32 field_of_view; float32 min_range; float32 max_range; float32 range",
  ),
  "sensor_msgs/BatteryState": stamped(
    "float32 voltage; float32 temperature; float32 current; float32 charge; float32 capacity; float32 design_capacity; float32 percentage; uint8 power_supply_status; uint8 power_supply_health; uint8 power_supply_technology; bool present; float32[] cell_voltage; float32[] cell_temperature; string location; string serial_number",
  ),
  "tf2_msgs/TFMessage": "geometry_msgs/TransformStamped[] transforms",
  "trajectory_msgs/JointTrajectoryPoint":
    "float64[] positions; float64[] velocities; float64[] accelerations; float64[] effort; builtin_interfaces/Duration time_from_start",
  "trajectory_msgs/JointTrajectory": stamped("string[] joint_names; trajectory_msgs/JointTrajectoryPoint[] points"),
  "trajectory_msgs/MultiDOFJointTrajectoryPoint":
    "geometry_msgs/Transform[] transforms; geometry_msgs/Twist[] velocities; geometry_msgs/Twist[] accelerations; builtin_interfaces/Duration time_from_start",
  "trajectory_msgs/MultiDOFJointTrajectory": stamped(
    "string[] joint_names; trajectory_msgs/MultiDOFJointTrajectoryPoint[] points",
  ),
  "px4_msgs/VehicleOdometry":
    "uint64 timestamp; uint64 timestamp_sample; uint8 pose_frame; float32[3] position; float32[4] q; uint8 velocity_frame; float32[3] velocity; float32[3] angular_velocity; float32[3] position_variance; float32[3] orientation_variance; float32[3] velocity_variance; uint8 reset_counter; int8 quality",
  "px4_msgs/VehicleLocalPosition":
    "uint64 timestamp; uint64 timestamp_sample; bool xy_valid; bool z_valid; bool v_xy_valid; bool v_z_valid; float32 x; float32 y; float32 z",
  "px4_msgs/TrajectorySetpoint":
    "uint64 timestamp; float32[3] position; float32[3] velocity; float32[3] acceleration; float32[3] jerk; float32 yaw; float32 yawspeed",
  "px4_msgs/VehicleAngularVelocity": "uint64 timestamp; uint64 timestamp_sample; float32[3] xyz",
  "px4_msgs/SensorCombined": "uint64 timestamp; float32[3] gyro_rad",
  "px4_msgs/ActuatorMotors": "uint64 timestamp; uint64 timestamp_sample; uint16 reversible_flags; float32[12] control",
};

/**
 * The definition of a type for a log that holds none (ROS 2 stored none before storage version 4), with those of the types
 * it is made of; "" where we know none.
 */
export function builtInDefinition(type: string): string {
  return assembleDefinition(withoutMsg(type), builtInFields);
}

/** The fields of a type, one a line; null where we do not know it. */
export function builtInFields(type: string): string | null {
  if (!Object.hasOwn(commonTypes, type)) return null;
  return commonTypes[type]!.split(";")
    .map((field) => field.trim())
    .join("\n");
}
