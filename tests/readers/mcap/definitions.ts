/** Message definitions as ROS 2 recorders store them: the type, then each type it holds behind a line of signs of equality. */

const rule = `\n${"=".repeat(80)}\n`;
const parts: Readonly<Record<string, string>> = {
  "std_msgs/Header": "builtin_interfaces/Time stamp\nstring frame_id",
  "builtin_interfaces/Time": "int32 sec\nuint32 nanosec",
  "builtin_interfaces/Duration": "int32 sec\nuint32 nanosec",
  "geometry_msgs/Point": "# a place in space\nfloat64 x\nfloat64 y\nfloat64 z",
  "geometry_msgs/Vector3": "float64 x\nfloat64 y\nfloat64 z",
  "geometry_msgs/Quaternion": "float64 x 0\nfloat64 y 0\nfloat64 z 0\nfloat64 w 1",
  "geometry_msgs/Pose": "Point position\nQuaternion orientation",
  "geometry_msgs/Transform": "Vector3 translation\nQuaternion rotation",
  "geometry_msgs/Twist": "Vector3  linear\nVector3  angular",
  "geometry_msgs/PoseWithCovariance": "Pose pose\n\nfloat64[36] covariance",
  "geometry_msgs/TwistWithCovariance": "Twist twist\n\nfloat64[36] covariance",
  "geometry_msgs/PoseStamped": "std_msgs/Header header\nPose pose",
  "geometry_msgs/PoseWithCovarianceStamped": "std_msgs/Header header\nPoseWithCovariance pose",
  "geometry_msgs/TransformStamped": "std_msgs/Header header\n\nstring child_frame_id\n\nTransform transform",
  "geometry_msgs/PointStamped": "std_msgs/Header header\nPoint point",
  "geometry_msgs/Vector3Stamped": "std_msgs/Header header\nVector3 vector",
  "nav_msgs/Odometry":
    "std_msgs/Header header\nstring child_frame_id\ngeometry_msgs/PoseWithCovariance pose\ngeometry_msgs/TwistWithCovariance twist",
  "tf2_msgs/TFMessage": "geometry_msgs/TransformStamped[] transforms",
  "sensor_msgs/Imu":
    "std_msgs/Header header\ngeometry_msgs/Quaternion orientation\nfloat64[9] orientation_covariance # row major\n" +
    "geometry_msgs/Vector3 angular_velocity\nfloat64[9] angular_velocity_covariance\n" +
    "geometry_msgs/Vector3 linear_acceleration\nfloat64[9] linear_acceleration_covariance",
  "sensor_msgs/BatteryState":
    "uint8 POWER_SUPPLY_STATUS_UNKNOWN = 0\nuint8 POWER_SUPPLY_STATUS_CHARGING=1\nstd_msgs/Header  header\n" +
    "float32 voltage\nfloat32 temperature\nfloat32 current\nfloat32 charge\nfloat32 capacity\nfloat32 design_capacity\n" +
    "float32 percentage\nuint8 power_supply_status\nuint8 power_supply_health\nuint8 power_supply_technology\nbool present\n" +
    "float32[] cell_voltage\nfloat32[] cell_temperature\nstring location\nstring serial_number",
  "mavros_msgs/PositionTarget":
    "std_msgs/Header header\nuint8 coordinate_frame\nuint8 FRAME_LOCAL_NED = 1\nuint16 type_mask\nuint16 IGNORE_PX = 1\n" +
    "geometry_msgs/Point position\ngeometry_msgs/Vector3 velocity\ngeometry_msgs/Vector3 acceleration_or_force\n" +
    "float32 yaw\nfloat32 yaw_rate",
  "trajectory_msgs/MultiDOFJointTrajectory":
    "std_msgs/Header header\nstring[] joint_names\nMultiDOFJointTrajectoryPoint[] points",
  "trajectory_msgs/MultiDOFJointTrajectoryPoint":
    "geometry_msgs/Transform[] transforms\ngeometry_msgs/Twist[] velocities\ngeometry_msgs/Twist[] accelerations\n" +
    "builtin_interfaces/Duration time_from_start",
  "sensor_msgs/JointState":
    "std_msgs/Header header\nstring[] name\nfloat64[] position\nfloat64[] velocity\nfloat64[] effort",
  "mavros_msgs/RCOut": "std_msgs/Header header\nuint16[] channels",
};

/** The definition of a type (written without /msg/), with all that it holds. */
export function definitionOf(type: string): string {
  const found = new Set<string>();
  const collect = (name: string): void => {
    for (const line of parts[name]!.split("\n")) {
      const bare = /^([\w/]+)/.exec(line)?.[1] ?? "";
      const inner = [bare, `${name.split("/")[0]}/${bare}`].find((each) => Object.hasOwn(parts, each));
      if (inner === undefined || found.has(inner)) continue;
      found.add(inner);
      collect(inner);
    }
  };
  collect(type);
  return [parts[type]!, ...[...found].map((name) => `MSG: ${name}\n${parts[name]!}`)].join(rule);
}
