import { loadNativeLibraries, type NativeDeclarer, nativeDeclarer, type Pointer } from '../aravis/index.js';

type Handle = Pointer | null;

/** The functions of Aravis that a client of cameras uses, by what they do. */
export type AravisCalls = ReturnType<typeof declareCalls> & { koffi: typeof import('koffi') };

let declared: Promise<AravisCalls> | null = null;

/** Loads the library and declares its functions, once. Throws `device-library-missing`. */
export function aravisCalls(): Promise<AravisCalls> {
  declared ??= loadNativeLibraries().then(
    (libraries) => ({ ...declareCalls(nativeDeclarer(libraries)), koffi: libraries.koffi }),
    (error: unknown) => {
      declared = null;
      throw error;
    },
  );
  return declared;
}

function declareCalls(declare: NativeDeclarer) {
  const fails = { fails: true } as const;
  const feature = <Value>(verb: string, result: string) =>
    declare<[Handle, string], Value>(`arv_device_${verb}`, result, ['void *', 'str'], fails);
  const ofDevice = (what: string) => declare<[number], string | null>(`arv_get_device_${what}`, 'str', ['uint']);
  const ofBuffer = <Value>(what: string, result: string) =>
    declare<[Pointer], Value>(`arv_buffer_get_${what}`, result, ['void *']);
  return {
    version: [
      declare<[], number>('arv_get_major_version', 'uint', []),
      declare<[], number>('arv_get_minor_version', 'uint', []),
      declare<[], number>('arv_get_micro_version', 'uint', []),
    ] as const,
    list: {
      update: declare<[], void>('arv_update_device_list', 'void', []),
      count: declare<[], number>('arv_get_n_devices', 'uint', []),
      id: ofDevice('id'),
      address: ofDevice('address'),
      physicalId: ofDevice('physical_id'),
      protocol: ofDevice('protocol'),
      vendor: ofDevice('vendor'),
      model: ofDevice('model'),
      serial: ofDevice('serial_nbr'),
    },
    camera: {
      open: declare<[string | null], Handle>('arv_camera_new', 'void *', ['str'], fails),
      device: declare<[Handle], Handle>('arv_camera_get_device', 'void *', ['void *']),
      vendor: declare<[Handle], string | null>('arv_camera_get_vendor_name', 'str', ['void *'], fails),
      model: declare<[Handle], string | null>('arv_camera_get_model_name', 'str', ['void *'], fails),
      serial: declare<[Handle], string | null>('arv_camera_get_device_serial_number', 'str', ['void *'], fails),
      payload: declare<[Handle], number>('arv_camera_get_payload', 'uint', ['void *'], fails),
      start: declare<[Handle], void>('arv_camera_start_acquisition', 'void', ['void *'], fails),
      stop: declare<[Handle], void>('arv_camera_stop_acquisition', 'void', ['void *'], fails),
      isGigE: declare<[Handle], number>('arv_camera_is_gv_device', 'int', ['void *']),
      isUsb3: declare<[Handle], number>('arv_camera_is_uv_device', 'int', ['void *']),
      packetBytes: declare<[Handle], number>('arv_camera_gv_get_packet_size', 'uint', ['void *'], fails),
      setPacketBytes: declare<[Handle, number], void>(
        'arv_camera_gv_set_packet_size',
        'void',
        ['void *', 'int'],
        fails,
      ),
      autoPacketBytes: declare<[Handle], number>('arv_camera_gv_auto_packet_size', 'uint', ['void *'], fails),
      setStreamOptions: declare<[Handle, number], void>('arv_gv_device_set_stream_options', 'void', ['void *', 'int']),
      isController: declare<[Handle], number>('arv_gv_device_is_controller', 'int', ['void *']),
      createStream: declare<[Handle, null, null], Handle>(
        'arv_camera_create_stream',
        'void *',
        ['void *', 'void *', 'void *'],
        fails,
      ),
    },
    feature: {
      node: declare<[Handle, string], Handle>('arv_device_get_feature', 'void *', ['void *', 'str']),
      available: feature<number>('is_feature_available', 'int'),
      getFloat: feature<number>('get_float_feature_value', 'double'),
      getInteger: feature<number | bigint>('get_integer_feature_value', 'int64'),
      getString: feature<string | null>('get_string_feature_value', 'str'),
      getBoolean: feature<number>('get_boolean_feature_value', 'int'),
      execute: feature<void>('execute_command', 'void'),
      setFloat: declare<[Handle, string, number], void>(
        'arv_device_set_float_feature_value',
        'void',
        ['void *', 'str', 'double'],
        fails,
      ),
      setInteger: declare<[Handle, string, number], void>(
        'arv_device_set_integer_feature_value',
        'void',
        ['void *', 'str', 'int64'],
        fails,
      ),
      setString: declare<[Handle, string, string], void>(
        'arv_device_set_string_feature_value',
        'void',
        ['void *', 'str', 'str'],
        fails,
      ),
      setBoolean: declare<[Handle, string, number], void>(
        'arv_device_set_boolean_feature_value',
        'void',
        ['void *', 'str', 'int'],
        fails,
      ),
      rangeCheck: declare<[Handle, number], void>('arv_device_set_range_check_policy', 'void', ['void *', 'int']),
      accessCheck: declare<[Handle, number], void>('arv_device_set_access_check_policy', 'void', ['void *', 'int']),
    },
    node: {
      kind: declare<[Handle], string | null>('arv_dom_node_get_node_name', 'str', ['void *']),
      parent: declare<[Handle], Handle>('arv_dom_node_get_parent_node', 'void *', ['void *']),
      members: declare<[Handle], Handle>('arv_gc_category_get_features', 'void *', ['void *']),
      access: declare<[Handle], number>('arv_gc_feature_node_get_actual_access_mode', 'int', ['void *']),
      locked: declare<[Handle], number>('arv_gc_feature_node_is_locked', 'int', ['void *'], fails),
      text: declare<[Handle], string | null>('arv_gc_feature_node_get_value_as_string', 'str', ['void *'], fails),
      description: declare<[Handle], string | null>('arv_gc_feature_node_get_description', 'str', ['void *']),
      floatMin: declare<[Handle], number>('arv_gc_float_get_min', 'double', ['void *'], fails),
      floatMax: declare<[Handle], number>('arv_gc_float_get_max', 'double', ['void *'], fails),
      floatStep: declare<[Handle], number>('arv_gc_float_get_inc', 'double', ['void *'], fails),
      floatUnit: declare<[Handle], string | null>('arv_gc_float_get_unit', 'str', ['void *']),
      integerMin: declare<[Handle], number | bigint>('arv_gc_integer_get_min', 'int64', ['void *'], fails),
      integerMax: declare<[Handle], number | bigint>('arv_gc_integer_get_max', 'int64', ['void *'], fails),
      integerStep: declare<[Handle], number | bigint>('arv_gc_integer_get_inc', 'int64', ['void *'], fails),
      integerUnit: declare<[Handle], string | null>('arv_gc_integer_get_unit', 'str', ['void *']),
      entries: declare<[Handle, number[]], Handle>(
        'arv_gc_enumeration_dup_available_string_values',
        'void *',
        ['void *', '_Out_ uint *'],
        fails,
      ),
    },
    stream: {
      push: declare<[Handle, Pointer], void>('arv_stream_push_buffer', 'void', ['void *', 'void *']),
      tryPop: declare<[Handle], Pointer | null>('arv_stream_try_pop_buffer', 'void *', ['void *']),
      statistics: declare<[Handle, (number | bigint)[], (number | bigint)[], (number | bigint)[]], void>(
        'arv_stream_get_statistics',
        'void',
        ['void *', '_Out_ uint64 *', '_Out_ uint64 *', '_Out_ uint64 *'],
      ),
      stopThread: declare<[Handle, number], Handle>('arv_stream_stop_thread', 'void', ['void *', 'int']),
      counter: declare<[Handle, string], number | bigint>('arv_stream_get_info_uint64_by_name', 'uint64', [
        'void *',
        'str',
      ]),
      setDouble: declare<[Handle, string, string, number, string, null], void>(
        'g_object_set',
        'void',
        ['void *', 'str', '...'],
        { from: 'gobject' },
      ),
      setInteger: declare<[Handle, string, string, number, string, null], void>(
        'g_object_set',
        'void',
        ['void *', 'str', '...'],
        { from: 'gobject' },
      ),
    },
    buffer: {
      allocate: declare<[number, null, null, null], Pointer>('arv_buffer_new_full', 'void *', [
        'size_t',
        'void *',
        'void *',
        'void *',
      ]),
      status: ofBuffer<number>('status', 'int'),
      data: declare<[Pointer, (number | bigint)[]], Handle>('arv_buffer_get_data', 'void *', [
        'void *',
        '_Out_ size_t *',
      ]),
      widthPx: ofBuffer<number>('image_width', 'int'),
      heightPx: ofBuffer<number>('image_height', 'int'),
      pixelFormat: ofBuffer<number>('image_pixel_format', 'uint32'),
      frameNumber: ofBuffer<number | bigint>('frame_id', 'uint64'),
      deviceTimeNs: ofBuffer<number | bigint>('timestamp', 'uint64'),
      systemTimeNs: ofBuffer<number | bigint>('system_timestamp', 'uint64'),
    },
    unref: declare<[Handle], void>('g_object_unref', 'void', ['void *'], { from: 'gobject' }),
    free: declare<[Handle], void>('g_free', 'void', ['void *'], { from: 'glib' }),
  };
}
