// The types that the messages of ISO 15118-2:2014 are made of, in the notation that notation.ts
// reads. Written from memory; checked by tests/wire/exi/vectors.test.ts.
export const ISO_15118_2_TYPES = `
schema iso-2 urn:iso:15118:2:2013:
ns MsgDataTypes
enum unitSymbolType h m s A V W Wh
int unitMultiplierType byte -3 3
int percentValueType byte 0 100
enum EVSENotificationType None StopCharging ReNegotiation
enum isolationLevelType Invalid Valid Warning Fault No_IMD
enum DC_EVSEStatusCodeType
 EVSE_NotReady EVSE_Ready EVSE_Shutdown EVSE_UtilityInterruptEvent EVSE_IsolationMonitoringActive
 EVSE_EmergencyShutdown EVSE_Malfunction Reserved_8 Reserved_9 Reserved_A Reserved_B Reserved_C
enum DC_EVErrorCodeType
 NO_ERROR FAILED_RESSTemperatureInhibit FAILED_EVShiftPosition FAILED_ChargerConnectorLockFault
 FAILED_EVRESSMalfunction FAILED_ChargingCurrentdifferential FAILED_ChargingVoltageOutOfRange
 Reserved_A Reserved_B Reserved_C FAILED_ChargingSystemIncompatibility NoData
enum EVSEProcessingType Finished Ongoing Ongoing_WaitingForCustomerInteraction
enum paymentOptionType Contract ExternalPayment
enum serviceCategoryType EVCharging Internet ContractCertificate OtherCustom
enum EnergyTransferModeType
 AC_single_phase_core AC_three_phase_core DC_core DC_extended DC_combo_core DC_unique
enum chargeProgressType Start Stop Renegotiate
enum chargingSessionType Terminate Pause
enum costKindType relativePricePercentage RenewableGenerationPercentage CarbonDioxideEmission
enum faultCodeType ParsingError NoTLSRootCertificatAvailable UnknownError
enum responseCodeType
 OK OK_NewSessionEstablished OK_OldSessionJoined OK_CertificateExpiresSoon FAILED
 FAILED_SequenceError FAILED_ServiceIDInvalid FAILED_UnknownSession FAILED_ServiceSelectionInvalid
 FAILED_PaymentSelectionInvalid FAILED_CertificateExpired FAILED_SignatureError
 FAILED_NoCertificateAvailable FAILED_CertChainError FAILED_ChallengeInvalid
 FAILED_ContractCanceled FAILED_WrongChargeParameter FAILED_PowerDeliveryNotApplied
 FAILED_TariffSelectionInvalid FAILED_ChargingProfileInvalid FAILED_MeteringSignatureNotValid
 FAILED_NoChargeServiceSelected FAILED_WrongEnergyTransferMode FAILED_ContactorError
 FAILED_CertificateNotAllowedAtThisEVSE FAILED_CertificateRevoked
hex sessionIDType 8
hex evccIDType 6
str evseIDType 7 37
str eMAIDType 14 15
str serviceNameType 0 32
str serviceScopeType 0 64
str meterIDType 0 32
str tariffDescriptionType 0 32
str faultMsgType 0 64
b64 certificateType 800
b64 genChallengeType 16
b64 sigMeterReadingType 64
b64 dHpublickeyType 65
b64 privateKeyType 48
plain serviceIDType unsignedShort
plain meterStatusType short
int SAIDType unsignedByte 1 255
plain tariffIDType unsignedByte
int maxPhasesType byte 1 3
int relStartType unsignedInt 0 16777214
int durationType unsignedInt 0 86399
type PhysicalValueType
 Multiplier unitMultiplierType
 Unit unitSymbolType
 Value short
type EVSEStatusType abstract
 NotificationMaxDelay unsignedShort
 EVSENotification EVSENotificationType
type DC_EVSEStatusType : EVSEStatusType
 EVSEIsolationStatus isolationLevelType ?
 EVSEStatusCode DC_EVSEStatusCodeType
type AC_EVSEStatusType : EVSEStatusType
 RCD boolean
element EVSEStatus EVSEStatusType abstract
element DC_EVSEStatus DC_EVSEStatusType subst EVSEStatus
element AC_EVSEStatus AC_EVSEStatusType subst EVSEStatus
type EVStatusType abstract
type DC_EVStatusType : EVStatusType
 EVReady boolean
 EVErrorCode DC_EVErrorCodeType
 EVRESSSOC percentValueType
element EVStatus EVStatusType abstract
element DC_EVStatus DC_EVStatusType subst EVStatus
type EVChargeParameterType abstract
 DepartureTime unsignedInt ?
type DC_EVChargeParameterType : EVChargeParameterType
 DC_EVStatus DC_EVStatusType
 EVMaximumCurrentLimit PhysicalValueType
 EVMaximumPowerLimit PhysicalValueType ?
 EVMaximumVoltageLimit PhysicalValueType
 EVEnergyCapacity PhysicalValueType ?
 EVEnergyRequest PhysicalValueType ?
 FullSOC percentValueType ?
 BulkSOC percentValueType ?
type AC_EVChargeParameterType : EVChargeParameterType
 EAmount PhysicalValueType
 EVMaxVoltage PhysicalValueType
 EVMaxCurrent PhysicalValueType
 EVMinCurrent PhysicalValueType
element EVChargeParameter EVChargeParameterType abstract
element DC_EVChargeParameter DC_EVChargeParameterType subst EVChargeParameter
element AC_EVChargeParameter AC_EVChargeParameterType subst EVChargeParameter
type EVSEChargeParameterType abstract
type DC_EVSEChargeParameterType : EVSEChargeParameterType
 DC_EVSEStatus DC_EVSEStatusType
 EVSEMaximumCurrentLimit PhysicalValueType
 EVSEMaximumPowerLimit PhysicalValueType
 EVSEMaximumVoltageLimit PhysicalValueType
 EVSEMinimumCurrentLimit PhysicalValueType
 EVSEMinimumVoltageLimit PhysicalValueType
 EVSECurrentRegulationTolerance PhysicalValueType ?
 EVSEPeakCurrentRipple PhysicalValueType
 EVSEEnergyToBeDelivered PhysicalValueType ?
type AC_EVSEChargeParameterType : EVSEChargeParameterType
 AC_EVSEStatus AC_EVSEStatusType
 EVSENominalVoltage PhysicalValueType
 EVSEMaxCurrent PhysicalValueType
element EVSEChargeParameter EVSEChargeParameterType abstract
element DC_EVSEChargeParameter DC_EVSEChargeParameterType subst EVSEChargeParameter
element AC_EVSEChargeParameter AC_EVSEChargeParameterType subst EVSEChargeParameter
type EVPowerDeliveryParameterType abstract
type DC_EVPowerDeliveryParameterType : EVPowerDeliveryParameterType
 DC_EVStatus DC_EVStatusType
 BulkChargingComplete boolean ?
 ChargingComplete boolean
element EVPowerDeliveryParameter EVPowerDeliveryParameterType abstract
element DC_EVPowerDeliveryParameter DC_EVPowerDeliveryParameterType subst EVPowerDeliveryParameter
type IntervalType abstract
type RelativeTimeIntervalType : IntervalType
 start relStartType
 duration durationType ?
element TimeInterval IntervalType abstract
element RelativeTimeInterval RelativeTimeIntervalType subst TimeInterval
type EntryType abstract
 ref TimeInterval
type PMaxScheduleEntryType : EntryType
 PMax PhysicalValueType
type CostType
 costKind costKindType
 amount unsignedInt
 amountMultiplier unitMultiplierType ?
type ConsumptionCostType
 startValue PhysicalValueType
 Cost CostType 1..3
type SalesTariffEntryType : EntryType
 EPriceLevel unsignedByte ?
 ConsumptionCost ConsumptionCostType 0..3
element Entry EntryType abstract
element PMaxScheduleEntry PMaxScheduleEntryType subst Entry
element SalesTariffEntry SalesTariffEntryType subst Entry
type PMaxScheduleType
 ref PMaxScheduleEntry 1..1024
type SalesTariffType
 @Id ID ?
 SalesTariffID tariffIDType
 SalesTariffDescription tariffDescriptionType ?
 NumEPriceLevels unsignedByte ?
 ref SalesTariffEntry 1..1024
type SAScheduleTupleType
 SAScheduleTupleID SAIDType
 PMaxSchedule PMaxScheduleType
 SalesTariff SalesTariffType ?
type SASchedulesType abstract
type SAScheduleListType : SASchedulesType
 SAScheduleTuple SAScheduleTupleType 1..3
element SASchedules SASchedulesType abstract
element SAScheduleList SAScheduleListType subst SASchedules
type ProfileEntryType
 ChargingProfileEntryStart unsignedInt
 ChargingProfileEntryMaxPower PhysicalValueType
 ChargingProfileEntryMaxNumberOfPhasesInUse maxPhasesType ?
type ChargingProfileType
 ProfileEntry ProfileEntryType 1..24
type ServiceType
 ServiceID serviceIDType
 ServiceName serviceNameType ?
 ServiceCategory serviceCategoryType
 ServiceScope serviceScopeType ?
 FreeService boolean
type SupportedEnergyTransferModeType
 EnergyTransferMode EnergyTransferModeType 1..6
type ChargeServiceType : ServiceType
 SupportedEnergyTransferMode SupportedEnergyTransferModeType
type PaymentOptionListType
 PaymentOption paymentOptionType 1..2
type ServiceListType
 Service ServiceType 1..8
type SelectedServiceType
 ServiceID serviceIDType
 ParameterSetID short ?
type SelectedServiceListType
 SelectedService SelectedServiceType 1..16
type ParameterType
 @Name string
 choice boolValue boolean | byteValue byte | shortValue short | intValue int
 | physicalValue PhysicalValueType | stringValue string
type ParameterSetType
 ParameterSetID short
 Parameter ParameterType 1..16
type ServiceParameterListType
 ParameterSet ParameterSetType 1..255
type MeterInfoType
 MeterID meterIDType
 MeterReading unsignedLong ?
 SigMeterReading sigMeterReadingType ?
 MeterStatus meterStatusType ?
 TMeter long ?
type SubCertificatesType
 Certificate certificateType 1..4
type CertificateChainType
 @Id ID ?
 Certificate certificateType
 SubCertificates SubCertificatesType ?
type EMAIDType = eMAIDType
 @Id ID
type DiffieHellmanPublickeyType = dHpublickeyType
 @Id ID
type ContractSignatureEncryptedPrivateKeyType = privateKeyType
 @Id ID
type ListOfRootCertificateIDsType
 RootCertificateID ds:X509IssuerSerialType 1..20
type NotificationType
 FaultCode faultCodeType
 FaultMsg faultMsgType ?
`;
